"""Airframes and fleets described on pages."""

from __future__ import annotations

from collections.abc import Iterator
from io import BytesIO

import pytest

from fleetcal.services.fleet.describe_airframe import AirframeShown, show_airframe
from fleetcal.services.fleet.describe_fleet import fleet_toml, show_fleet
from fleetcal.services.keeping.store_history import history_of, state_of
from fleetcal.store import Store
from tests.web.served import ServedPages, served
from tests.web.test_history import HOSTILE


@pytest.fixture
def pages(described: Store) -> Iterator[ServedPages]:
    with served(described) as opened:
        yield opened


def known(pages: ServedPages, tag: str) -> AirframeShown:
    found = show_airframe(pages.desk.store, tag)
    assert found is not None
    return found


def test_a_new_airframe_needs_nothing_but_its_tag(pages: ServedPages) -> None:
    text = pages.follow(pages.post("do/airframe", data={"tag": "F-01"})).get_data(as_text=True)
    assert "F-01 is in the store." in text
    assert "Not described yet: type, static source" in text
    assert history_of(pages.desk.store).lines[-1].command == "serve: fleet airframe"


def test_a_new_airframe_is_described_in_the_units_of_its_papers(pages: ServedPages) -> None:
    form = {
        "tag": "F-01",
        "type": "Skua 2",
        "static_source": "belly pair",
        "engine": "75 kW four",
        "propeller": "two-blade fixed",
        "stall_kt": "50 mph",
        "weight_kg": "1290 lb",
        "registration": "XX-F01",
    }
    pages.follow(pages.post("do/airframe", data=form))
    shown = known(pages, "F-01")
    assert (shown.type, shown.static_source) == ("Skua 2", "belly pair")
    assert shown.stall_kt == pytest.approx(43.45, abs=0.01)
    assert shown.reference_weight_kg == pytest.approx(585.13, abs=0.01)
    assert shown.registration == "XX-F01"


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("tag", "C-02"),
        ("tag", "c2"),
        ("tag", ""),
        ("stall_kt", "slow"),
        ("stall_kt", "5"),
        ("weight_kg", "600 stone"),
        ("weight_kg", "-1"),
    ],
)
def test_an_airframe_that_cannot_be_is_refused_and_all_is_kept(
    pages: ServedPages, field: str, value: str
) -> None:
    before = state_of(pages.desk.store)
    form = {"tag": "F-01", "type": "Skua 2", "note": "red & white", field: value}
    answer = pages.post("do/airframe", data=form)
    text = answer.get_data(as_text=True)
    assert answer.status_code == 400
    assert 'role="alert"' in text
    for kept in ("Skua 2", "red &amp; white", value):
        assert f'value="{kept}"' in text
    assert state_of(pages.desk.store) == before


def test_markup_in_every_field_stays_words(pages: ServedPages) -> None:
    names = ("type", "static_source", "engine", "propeller", "pitot", "registration", "note")
    for tag in (HOSTILE, "F-01"):
        form = {"tag": tag, **dict.fromkeys(names, HOSTILE)}
        done = pages.post("do/airframe", data={**form, "stall_kt": HOSTILE})
        assert "<script>alert" not in done.get_data(as_text=True)
        followed = pages.follow(pages.post("do/airframe", data=form))
        pages_with_it = [followed, pages.get(""), pages.get("history"), pages.get("do/fleet")]
        pages_with_it += [pages.get("do/describe?airframe=F-01")]
        for answer in pages_with_it:
            assert "<script>alert" not in answer.get_data(as_text=True)
            assert "<img" not in answer.get_data(as_text=True)


def test_an_airframe_is_described_further_and_what_is_known_stands_there(
    pages: ServedPages,
) -> None:
    form = pages.get("do/describe?airframe=C-02").get_data(as_text=True)
    assert 'value="wing boom"' in form
    text = pages.follow(
        pages.post("do/describe?airframe=C-02", data={"registration": "XX-C02", "stall_kt": "42"})
    ).get_data(as_text=True)
    assert "C-02 is described." in text
    assert known(pages, "C-02").registration == "XX-C02"
    assert known(pages, "C-02").static_source == "wing boom"


def test_what_other_airframes_share_is_not_changed_for_one(pages: ServedPages) -> None:
    before = state_of(pages.desk.store)
    answer = pages.post("do/describe?airframe=C-02", data={"weight_kg": "700"})
    text = answer.get_data(as_text=True)
    assert answer.status_code == 400
    assert "its reference weight is 600 kg" in text
    assert 'value="700"' in text
    assert state_of(pages.desk.store) == before


def test_a_change_of_equipment_begins_on_its_day(pages: ServedPages) -> None:
    form = {"since": "2024-05-01", "propeller": "three-blade fixed"}
    pages.follow(pages.post("do/equipment?airframe=C-02", data=form))
    fits = [line for line in show_fleet(pages.desk.store).fits if line.airframe == "C-02"]
    assert [line.propeller for line in fits] == ["two-blade fixed", "three-blade fixed"]
    assert [str(line.from_date) for line in fits] == ["2015-04-01", "2024-05-01"]


@pytest.mark.parametrize(
    "form",
    [
        {"propeller": "three-blade"},
        {"since": "2024-05-01"},
        {"since": "May", "propeller": "three-blade"},
    ],
)
def test_a_change_without_day_or_equipment_is_refused(
    pages: ServedPages, form: dict[str, str]
) -> None:
    before = state_of(pages.desk.store)
    answer = pages.post("do/equipment?airframe=C-02", data=form)
    assert answer.status_code == 400
    for value in form.values():
        assert f'value="{value}"' in answer.get_data(as_text=True)
    assert state_of(pages.desk.store) == before


def test_the_temperature_display_is_stated(pages: ServedPages) -> None:
    form = {"shows": "probe", "recovery_factor": "0,75"}
    text = pages.follow(pages.post("do/thermometer?airframe=C-02", data=form))
    assert "recovery factor 0.75" in text.get_data(as_text=True)


def test_a_recovery_factor_goes_with_a_probe_alone(pages: ServedPages) -> None:
    before = state_of(pages.desk.store)
    for form in (
        {"shows": "ambient", "recovery_factor": "0.75"},
        {"shows": "probe", "recovery_factor": "7"},
        {"shows": "wrong"},
    ):
        answer = pages.post("do/thermometer?airframe=C-02", data=form)
        assert answer.status_code == 400
    assert state_of(pages.desk.store) == before


@pytest.mark.parametrize("tag", ["", "C-99", "c2", HOSTILE, "../../etc/passwd"])
@pytest.mark.parametrize("act", ["describe", "equipment", "thermometer"])
def test_an_airframe_that_is_not_there_is_named_so(pages: ServedPages, act: str, tag: str) -> None:
    answer = pages.get(f"do/{act}?airframe={tag}")
    assert answer.status_code == 404
    assert "<script>alert" not in answer.get_data(as_text=True)


def test_a_fleet_is_taken_in_from_a_spreadsheet(pages: ServedPages) -> None:
    template = pages.get("do/fleet-template.csv")
    assert "attachment" in template.headers["Content-Disposition"]
    sent = {"file": (BytesIO(template.get_data()), "../../fleet.csv")}
    answer = pages.post("do/fleet", data=sent, content_type="multipart/form-data")
    text = pages.follow(answer).get_data(as_text=True)
    assert "fleet.csv: " in text
    assert " added, " in text
    assert not list(pages.desk.folder.iterdir())


def test_a_fleet_file_gives_itself_back(pages: ServedPages) -> None:
    sent = pages.get("do/fleet.toml").get_data(as_text=True)
    assert sent == fleet_toml(pages.desk.store)


@pytest.mark.parametrize("content", [b"", b"\x00\xff\xfe", b"a,b\n1,2\n", b"[types]\nwrong = "])
def test_a_file_that_is_no_fleet_is_refused_and_nothing_is_left(
    pages: ServedPages, content: bytes
) -> None:
    before = state_of(pages.desk.store)
    sent = {"file": (BytesIO(content), f"{HOSTILE}.csv")}
    answer = pages.post("do/fleet", data=sent, content_type="multipart/form-data")
    assert answer.status_code == 400
    assert "<script>alert" not in answer.get_data(as_text=True)
    assert state_of(pages.desk.store) == before
    assert not list(pages.desk.folder.iterdir())


def test_a_form_without_a_file_is_refused(pages: ServedPages) -> None:
    assert pages.post("do/fleet", data={}).status_code == 400
