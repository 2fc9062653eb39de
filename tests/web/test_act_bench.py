"""Bench and leak checks on pages."""

from __future__ import annotations

from collections.abc import Iterator
from io import BytesIO

import pytest

from fleetcal.services.bench.bench_checks import CheckLine, list_checks
from fleetcal.services.keeping.store_history import state_of
from fleetcal.store import Store
from tests.web.served import ServedPages, served
from tests.web.test_history import HOSTILE

DAY = {"checked_on": "2024-03-01"}


@pytest.fixture
def pages(described: Store) -> Iterator[ServedPages]:
    with served(described) as opened:
        yield opened


def checks(pages: ServedPages) -> tuple[CheckLine, ...]:
    return list_checks(pages.desk.store, "C-02").checks


@pytest.mark.parametrize(
    "pairs", ["60 0.5\n90 0\n120 -1.5", "60;0,5\n90;0\n120;-1,5\n", "60,0.5\r\n90,0\r\n120,-1.5"]
)
def test_pairs_are_typed_as_people_write_them(pages: ServedPages, pairs: str) -> None:
    form = {**DAY, "u": "0.5 kt", "readings": pairs, "note": "yearly"}
    text = pages.follow(pages.post("do/bench/airspeed?airframe=C-02", data=form))
    assert "3 lines entered" in text.get_data(as_text=True)
    (check,) = checks(pages)
    assert (check.lowest, check.highest, check.largest_correction) == (60.0, 120.0, -1.5)
    assert (check.u, check.note) == (0.5, "yearly")
    assert not list(pages.desk.folder.iterdir())


def test_a_check_of_an_altimeter_comes_from_a_file(pages: ServedPages) -> None:
    content = b"indicated_ft,correction_ft\n0,10\n3000,-5\n"
    form = {**DAY, "u": "10", "file": (BytesIO(content), "../altimeter.csv")}
    answer = pages.post(
        "do/bench/altimeter?airframe=C-02", data=form, content_type="multipart/form-data"
    )
    assert "2 lines entered" in pages.follow(answer).get_data(as_text=True)
    assert checks(pages)[0].unit == "ft"


@pytest.mark.parametrize(
    "wrong",
    [
        {"readings": "60"},
        {"readings": "60 0.5 7"},
        {"readings": "sixty 0.5"},
        {"readings": "60 99"},
        {"readings": "60 0.5\n60 0.7"},
        {"readings": ""},
        {"u": "0"},
        {"u": ""},
        {"checked_on": "1 March"},
        {"readings": HOSTILE},
        {"note": HOSTILE, "u": HOSTILE},
    ],
)
def test_a_check_that_cannot_be_is_refused_and_all_is_kept(
    pages: ServedPages, wrong: dict[str, str]
) -> None:
    before = state_of(pages.desk.store)
    form = {**DAY, "u": "0.5", "readings": "60 0.5\n90 0", "note": "red pen", **wrong}
    answer = pages.post("do/bench/airspeed?airframe=C-02", data=form)
    text = answer.get_data(as_text=True)
    assert answer.status_code == 400
    assert "<script>alert" not in text
    if HOSTILE not in wrong.values():
        assert 'value="red pen"' in text
        assert f">{form['readings']}</textarea>" in text
    assert state_of(pages.desk.store) == before
    assert not list(pages.desk.folder.iterdir())


def test_a_leak_check_that_failed_says_what_it_bars(pages: ServedPages) -> None:
    text = pages.follow(pages.post("do/bench/leak?airframe=C-02", data={**DAY, "loss_ft": "140"}))
    assert "FAILED: 140 ft against 100 ft" in text.get_data(as_text=True)
    assert "barred from every pool" in text.get_data(as_text=True)


def test_another_limit_needs_its_source(pages: ServedPages) -> None:
    form = {**DAY, "loss_ft": "140", "limit_ft": "150"}
    answer = pages.post("do/bench/leak?airframe=C-02", data=form)
    text = answer.get_data(as_text=True)
    assert answer.status_code == 400
    assert "Say with &#x27;Where that limit is from&#x27; where it is from." in text
    assert '<details class="more" open>' in text
    assert not checks(pages)


def test_a_check_is_withdrawn_with_a_reason(pages: ServedPages) -> None:
    pages.post("do/bench/leak?airframe=C-02", data={**DAY, "loss_ft": "140"})
    path = f"do/bench/withdraw?airframe=C-02&kind=leak&number={checks(pages)[0].number}"
    assert path.replace("&", "&amp;") in pages.get("do/bench?airframe=C-02").get_data(as_text=True)
    before = state_of(pages.desk.store)
    assert pages.post(path, data={"reason": " "}).status_code == 400
    assert state_of(pages.desk.store) == before
    pages.follow(pages.post(path, data={"reason": "read 140 for 14"}))
    assert checks(pages)[0].withdrawn


@pytest.mark.parametrize("kind", ["gyro", "..", "%2e%2e%2fend"])
def test_a_kind_of_check_that_there_is_not_is_named_so(pages: ServedPages, kind: str) -> None:
    assert pages.post(f"do/bench/{kind}?airframe=C-02", data=DAY).status_code in (404, 405)


def test_a_check_of_another_airframe_is_not_withdrawn(pages: ServedPages) -> None:
    pages.post("do/bench/leak?airframe=C-02", data={**DAY, "loss_ft": "140"})
    path = f"do/bench/withdraw?airframe=C-03&kind=leak&number={checks(pages)[0].number}"
    assert pages.post(path, data={"reason": "wrong"}).status_code == 404
    assert not checks(pages)[0].withdrawn
