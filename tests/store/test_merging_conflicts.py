"""What two stores say against each other is a conflict until somebody chooses."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from sqlalchemy import select

from fleetcal.errors import DataError
from fleetcal.services.sharing.merge_share import Choices
from fleetcal.store import (
    AirframeDescription,
    FitDescription,
    NewBenchCheck,
    add_bench_check,
    add_issue,
    add_source,
    find_issue,
    list_bench_checks,
    save_description,
    select_points,
)
from fleetcal.store.models import ReplacedVersion
from tests.store.invented_rows import FLEET, MOMENT, SERIES, WING
from tests.store.invented_shares import (
    Make,
    file_of,
    fly_file,
    issue,
    merge_into,
    sha,
    shared_text,
    write_share,
)


@pytest.mark.long
@pytest.mark.parametrize(("side", "weight_kg"), [("mine", 590.0), ("theirs", 570.0)])
def test_one_flight_reduced_differently_is_a_conflict_until_somebody_chooses(
    make: Make, tmp_path: Path, side: str, weight_kg: float
) -> None:
    mine, theirs = make("mine"), make("theirs")
    with mine.writing() as session:
        fly_file(session, "flight")
    with theirs.writing() as session:
        fly_file(session, "flight", weight_kg=570.0, shift=0.001)
    path = write_share(theirs, tmp_path / "theirs.json")
    before = file_of(mine).read_bytes()
    listed = merge_into(file_of(mine), path)
    assert not listed.stored
    assert file_of(mine).read_bytes() == before
    (conflict,) = listed.conflicts
    assert "590 kg" in conflict.mine
    assert "570 kg" in conflict.theirs
    choice = Choices(None, {conflict.conflict: side})  # type: ignore[dict-item]
    assert merge_into(file_of(mine), path, choice).stored
    assert merge_into(file_of(mine), path).conflicts == ()
    with mine.reading() as session:
        assert {p.weight_kg for p in select_points(session)} == {weight_kg}
        assert len(select_points(session)) == 3
        (kept,) = session.scalars(select(ReplacedVersion))
        assert json.loads(kept.content_json)["sorties"][0]["weight_kg"] == 1160.0 - weight_kg
    # The one who was overruled takes the settled store without being asked again.
    settled = write_share(mine, tmp_path / "settled.json")
    assert merge_into(file_of(theirs), settled).conflicts == ()
    assert shared_text(theirs) == shared_text(mine)


def test_a_choice_for_a_conflict_that_is_not_there_is_refused(make: Make, tmp_path: Path) -> None:
    path = write_share(make("source"), tmp_path / "s.json")
    with pytest.raises(DataError, match="no conflict 01234567"):
        merge_into(file_of(make("other")), path, Choices(None, {"01234567": "mine"}))


@pytest.mark.parametrize("side", ["mine", "theirs"])
def test_one_log_for_two_airframes_is_a_conflict(make: Make, tmp_path: Path, side: str) -> None:
    mine, theirs = make("mine"), make("theirs")
    with mine.writing() as session:
        fly_file(session, "flight", "C-01")
    with theirs.writing() as session:
        fly_file(session, "flight", "C-02")
    path = write_share(theirs, tmp_path / "theirs.json")
    (conflict,) = merge_into(file_of(mine), path).conflicts
    assert "two airframes" in conflict.what
    assert merge_into(file_of(mine), path, Choices(side, {})).stored  # type: ignore[arg-type]
    with mine.reading() as session:
        (owner,) = {p.airframe for p in select_points(session)}
    assert owner == {"mine": "C-01", "theirs": "C-02"}[side]
    assert merge_into(file_of(mine), path).conflicts == ()


@pytest.mark.parametrize("side", ["mine", "theirs"])
def test_the_same_points_from_two_files_are_a_conflict(
    make: Make, tmp_path: Path, side: str
) -> None:
    mine, theirs = make("mine"), make("theirs")
    for store, word in ((mine, "flight"), (theirs, "export")):
        with store.writing() as session:
            shift = 0.0 if word == "flight" else 0.001
            fly_file(session, word, shift=shift)
    with theirs.writing() as session:
        kappa = {p.number: p.kappa for p in select_points(session)}[1]
    with mine.writing() as session:
        fly_file(session, "twin", shift=kappa - (-0.0125 + int(sha("twin")[:4], 16) / 1e7))
        assert any(p.kappa == kappa for p in select_points(session))
    path = write_share(theirs, tmp_path / "theirs.json")
    (conflict,) = merge_into(file_of(mine), path).conflicts
    assert "two files" in conflict.what
    assert merge_into(file_of(mine), path, Choices(side, {})).stored  # type: ignore[arg-type]
    with mine.reading() as session:
        names = {p.source_name for p in select_points(session)}
    assert names == {"flight.csv", {"mine": "twin.csv", "theirs": "export.csv"}[side]}


@pytest.mark.parametrize(("side", "standing"), [("mine", 0.4), ("theirs", 0.7)])
def test_of_two_bench_checks_of_one_day_one_is_withdrawn_by_choice(
    make: Make, tmp_path: Path, side: str, standing: float
) -> None:
    stores = make("mine"), make("theirs")
    for store, u in zip(stores, (0.4, 0.7), strict=True):
        with store.writing() as session:
            source = add_source(session, sha(f"bench {u}"), "b.csv", "bench", now=MOMENT)
            check = NewBenchCheck(
                airframe="C-02",
                kind="airspeed",
                checked_on=date(2019, 5, 1),
                u=u,
                rows=((60.0, 0.5),),
            )
            add_bench_check(session, source, check, now=MOMENT)
    path = write_share(stores[1], tmp_path / "theirs.json")
    (conflict,) = merge_into(file_of(stores[0]), path).conflicts
    assert "one day" in conflict.what
    merge_into(file_of(stores[0]), path, Choices(side, {}))  # type: ignore[arg-type]
    with stores[0].reading() as session:
        checks = list_bench_checks(session)
    assert [check.u for check in checks if not check.withdrawn] == [standing]
    assert len(checks) == 2
    assert merge_into(file_of(stores[0]), path).conflicts == ()


NEW_FIT = FitDescription(
    from_date=date(2018, 6, 1),
    static_source=WING,
    engine="100 kW turbo four",
    propeller="three-blade constant-speed",
)


@pytest.mark.parametrize(("side", "port"), [("mine", "tail-boom flush pair"), ("theirs", WING)])
def test_a_fit_that_would_put_other_equipment_under_stored_flights_is_a_conflict(
    make: Make, tmp_path: Path, side: str, port: str
) -> None:
    mine, theirs = make("mine"), make("theirs")
    with mine.writing() as session:
        fly_file(session, "mine", day=date(2018, 9, 1))
    with theirs.writing() as session:
        airframe = AirframeDescription(tag="C-01", type="Corrie 2", fits=(NEW_FIT,))
        save_description(session, replace(FLEET, airframes=(airframe,)))
        fly_file(session, "theirs", day=date(2018, 9, 2))
    path = write_share(theirs, tmp_path / "theirs.json")
    listed = merge_into(file_of(mine), path)
    assert not listed.stored
    assert "would count as wing boom" in listed.conflicts[-1].what
    merge_into(file_of(mine), path, Choices(side, {}))  # type: ignore[arg-type]
    with mine.reading() as session:
        assert {p.static_source for p in select_points(session)} == {port}
        names = {p.source_name for p in select_points(session)}
    # Without the fit their flights would count under the wrong port, so they stay out as well.
    assert names == ({"mine.csv"} if side == "mine" else {"mine.csv", "theirs.csv"})


def test_two_issues_of_one_number_are_a_conflict_and_neither_is_lost(
    make: Make, tmp_path: Path
) -> None:
    mine, theirs = make("mine"), make("theirs")
    for store, why in ((mine, "annual"), (theirs, "new port")):
        with store.writing() as session:
            add_issue(session, SERIES, 1, issue(why), now=MOMENT)
    path = write_share(theirs, tmp_path / "theirs.json")
    (conflict,) = merge_into(file_of(mine), path).conflicts
    assert (conflict.mine, conflict.theirs) == ("why annual", "why new port")
    merge_into(file_of(mine), path, Choices("theirs", {}))
    with mine.reading() as session:
        assert find_issue(session, SERIES, 1).line.why == "new port"
        (kept,) = session.scalars(select(ReplacedVersion))
    assert json.loads(kept.content_json)["why"] == "annual"
