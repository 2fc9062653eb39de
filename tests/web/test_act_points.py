"""Points of a flight decided on, a flight moved and weighed, on pages."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from fleetcal.services.flights.reduce_flight import reduce_flight
from fleetcal.services.flights.reduction import FlightDetails
from fleetcal.services.flights.settings_file import ReductionSettings
from fleetcal.services.keeping.store_history import history_of, state_of
from fleetcal.services.points.exchange_points import import_points
from fleetcal.store import Store, StoredPoint, select_points
from tests.cli.invented_sortie import fly, log_text
from tests.services.invented_group import flown_points
from tests.web.served import ServedPages, served
from tests.web.test_history import HOSTILE


@pytest.fixture
def pages(described: Store, tmp_path: Path) -> Iterator[ServedPages]:
    for tag in ("C-02", "C-03"):
        flown_points(tmp_path / f"{tag}.csv", [tag])
        import_points(described, tmp_path / f"{tag}.csv")
    with served(described) as opened:
        yield opened


def points(store: Store, sortie: int = 1) -> list[StoredPoint]:
    with store.reading() as session:
        return [row for row in select_points(session) if row.sortie_id == sortie]


def test_points_are_left_out_with_a_reason_and_count_again(pages: ServedPages) -> None:
    store = pages.desk.store
    ids = [row.point_id for row in points(store)][:2]
    answer = pages.post(
        "do/points?sortie=1",
        data={"point": ids, "reason": "static line loose", "decision": "reject"},
    )
    text = pages.follow(answer).get_data(as_text=True)
    assert "2 points of sortie 1 left out: static line loose." in text
    change = max(line.change for line in history_of(store).lines)
    assert f"History, change {change}, takes it back." in text
    assert {row.point_id for row in points(store) if not row.accepted} == set(ids)
    assert history_of(store).lines[-1].command == "serve: points reject"
    pages.follow(pages.post("do/points?sortie=1", data={"point": ids, "decision": "accept"}))
    assert all(row.accepted for row in points(store))


def test_points_are_not_left_out_without_a_reason_and_stay_ticked(pages: ServedPages) -> None:
    before = state_of(pages.desk.store)
    first, *_ = [row.point_id for row in points(pages.desk.store)]
    answer = pages.post("do/points?sortie=1", data={"point": [first], "decision": "reject"})
    text = answer.get_data(as_text=True)
    assert answer.status_code == 400
    assert 'role="alert"' in text
    assert f'id="point-{first}" checked' in text
    assert text.count(" checked") == 1
    assert state_of(pages.desk.store) == before


@pytest.mark.parametrize("point", ["9999", "-1", HOSTILE, "../../etc/passwd"])
def test_a_point_of_another_flight_is_refused_and_the_reason_kept(
    pages: ServedPages, point: str
) -> None:
    before = state_of(pages.desk.store)
    answer = pages.post(
        "do/points?sortie=1", data={"point": [point], "reason": HOSTILE, "decision": "reject"}
    )
    text = answer.get_data(as_text=True)
    assert answer.status_code == 400
    assert "<script>alert" not in text
    assert 'value="&lt;script&gt;alert(1)&lt;/script&gt;&quot;' in text
    assert state_of(pages.desk.store) == before


@pytest.mark.parametrize("sortie", ["", "99", "-1", "1e0", "²", "9" * 30])
@pytest.mark.parametrize("act", ["points", "move", "weight"])
def test_a_flight_that_is_not_there_is_named_so(pages: ServedPages, act: str, sortie: str) -> None:
    for answer in (
        pages.get(f"do/{act}?sortie={sortie}"),
        pages.post(f"do/{act}?sortie={sortie}", data={"weight_kg": "500"}),
    ):
        assert answer.status_code == 404


@pytest.mark.long
def test_a_flight_is_moved_to_the_airframe_that_flew_it(described: Store, tmp_path: Path) -> None:
    log = tmp_path / "flight.csv"
    log.write_text(log_text(fly()))
    reduce_flight(described, log, FlightDetails(airframe="C-02"), ReductionSettings())
    with served(described) as pages:
        form = pages.get("do/move?sortie=1").get_data(as_text=True)
        assert '<option value="C-04">' in form
        assert '<option value="C-02"' not in form
        done = pages.follow(pages.post("do/move?sortie=1", data={"airframe": "C-04"}))
        assert "moved from C-02 to C-04" in done.get_data(as_text=True)
        assert {row.airframe for row in points(described)} == {"C-04"}


def test_points_of_earlier_work_are_not_moved_and_the_choice_stays(pages: ServedPages) -> None:
    before = state_of(pages.desk.store)
    answer = pages.post("do/move?sortie=1", data={"airframe": "C-04"})
    assert answer.status_code == 400
    text = answer.get_data(as_text=True)
    assert "points of earlier work, which are not moved" in text
    assert '<option value="C-04" selected>' in text
    assert state_of(pages.desk.store) == before


def test_a_flight_is_not_moved_to_an_airframe_that_is_not_there(pages: ServedPages) -> None:
    before = state_of(pages.desk.store)
    for tag in ("C-99", "", HOSTILE, "C-02"):
        answer = pages.post("do/move?sortie=1", data={"airframe": tag})
        assert answer.status_code == 400
        assert "<script>alert" not in answer.get_data(as_text=True)
    assert state_of(pages.desk.store) == before


@pytest.mark.long
def test_a_weight_is_taken_in_pounds_and_with_a_comma(pages: ServedPages) -> None:
    pages.follow(pages.post("do/weight?sortie=1", data={"weight_kg": "1290 lb"}))
    assert points(pages.desk.store)[0].weight_kg == pytest.approx(585.13, abs=0.01)
    pages.follow(pages.post("do/weight?sortie=1", data={"weight_kg": "590,5"}))
    assert points(pages.desk.store)[0].weight_kg == pytest.approx(590.5)


@pytest.mark.parametrize("weight", ["", "heavy", "5", "1e9", "600 stone", "nan", HOSTILE])
def test_a_weight_that_cannot_be_is_refused_and_kept_in_its_field(
    pages: ServedPages, weight: str
) -> None:
    before = state_of(pages.desk.store)
    answer = pages.post("do/weight?sortie=1", data={"weight_kg": weight})
    text = answer.get_data(as_text=True)
    assert answer.status_code == 400
    assert "<script>alert" not in text
    if weight.isalnum():
        assert f'value="{weight}"' in text
    assert state_of(pages.desk.store) == before


def test_a_field_that_is_wrong_has_its_error_and_the_focus(pages: ServedPages) -> None:
    answer = pages.post("do/weight?sortie=1", data={"weight_kg": "heavy"})
    assert answer.mimetype == "text/html"
    text = answer.get_data(as_text=True)
    assert "Weight during the flight: &#x27;heavy&#x27; is not a number." in text
    assert 'aria-invalid="true"' in text
    assert 'aria-describedby="field-weight_kg-wrong field-weight_kg-advice"' in text
    assert "autofocus" in text
