"""Points sorted into groups."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from fleetcal.errors import DataError, FitError, UnknownNameError
from fleetcal.services.curves.group_name import GroupName
from fleetcal.services.curves.groups import find_group, find_type
from fleetcal.services.curves.list_groups import list_groups
from fleetcal.services.curves.position_error import gather_points
from fleetcal.services.points.decide_points import list_points, reject
from fleetcal.services.points.exchange_points import import_points
from fleetcal.store import PointFilter, Store
from tests.services.invented_group import FIXED, FLEET, FOUR, TAIL, TURBO, TYPE, WING, flown_points

FULL = f"{WING} / {FOUR} / {FIXED}"


def test_the_only_type_needs_no_name() -> None:
    assert find_type(FLEET, None) == TYPE
    assert find_type(FLEET, " corrie 2 ") == TYPE


def test_one_of_several_types_must_be_named() -> None:
    two = replace(FLEET, types=(TYPE, replace(TYPE, name="Corrie 3")))
    with pytest.raises(DataError, match="Corrie 2, Corrie 3"):
        find_type(two, None)
    assert find_type(two, "Corrie 3").name == "Corrie 3"
    with pytest.raises(DataError, match="no aircraft type"):
        find_type(replace(FLEET, types=()), None)


def test_a_name_that_is_nearly_right_is_answered_with_the_right_one() -> None:
    with pytest.raises(UnknownNameError) as refusal:
        find_group(FLEET, TYPE, "wing bom")
    assert WING in refusal.value.hint


def test_the_name_of_a_group_is_what_finds_it() -> None:
    for name in (GroupName(WING), GroupName(WING, FOUR, FIXED)):
        assert find_group(FLEET, TYPE, str(name)) == name


def filled(store: Store, path: Path) -> None:
    flown_points(path / "old.csv", ["C-01", "C-02", "C-03", "C-04", "C-06"])
    flown_points(path / "new.csv", ["C-01"], day="2023-03-05")
    for name in ("old.csv", "new.csv"):
        import_points(store, path / name)


def test_the_day_decides_under_which_equipment_a_point_counts(
    described: Store, tmp_path: Path
) -> None:
    filled(described, tmp_path)
    lines = {line.group: line for line in list_groups(described).groups}
    assert {name: line.airframes for name, line in lines.items()} == {
        FULL: 4,
        f"{WING} / {TURBO} / {FIXED}": 1,
        f"{TAIL} / {FOUR} / {FIXED}": 1,
    }
    assert [lines[name].enough for name in sorted(lines)] == [False, False, True]


def test_the_static_source_alone_pools_its_pairings(described: Store, tmp_path: Path) -> None:
    filled(described, tmp_path)
    alone, name = gather_points(described, None, "up", WING)
    assert name == GroupName(WING)
    assert [member.airframe for member in alone.members] == ["C-01", "C-02", "C-03", "C-04"]
    # C-01 is one aircraft with the points of both its pairings.
    assert int(np.sum(alone.points.aircraft == 0)) == 6
    paired, _ = gather_points(described, None, "up", FULL)
    assert int(np.sum(paired.points.aircraft == 0)) == 3
    assert paired.too_small == (
        f"{TAIL} / {FOUR} / {FIXED}: flown by 1 airframe only",
        f"{WING} / {TURBO} / {FIXED}: flown by 1 airframe only",
    )


def test_weight_and_speed_become_lift_and_terms_their_columns(
    described: Store, tmp_path: Path
) -> None:
    filled(described, tmp_path)
    known, _ = gather_points(described, None, "up", FULL)
    for row, lift, own, shared in zip(
        known.rows, known.points.x, known.points.u_own, known.points.u_shared, strict=True
    ):
        # s = (Vs/Viw)^2 with Viw = Vic*sqrt(Wref/W).
        assert lift == pytest.approx((45.0 / row.speed_kt) ** 2 * row.weight_kg / 600.0, rel=1e-12)
        assert own**2 + np.sum(shared**2) == pytest.approx(row.u_y**2, rel=1e-12)
    assert known.points.u_shared.shape == (12, 1)
    assert sorted(set(known.points.u_shared[:, 0])) == [0.002, 0.003, 0.004]


def test_rejected_points_are_in_no_group(described: Store, tmp_path: Path) -> None:
    filled(described, tmp_path)
    mine = list_points(described, PointFilter(airframe="C-02")).points
    reject(described, [point.point_id for point in mine], "static line found loose")
    known, _ = gather_points(described, None, "up", FULL)
    assert {member.airframe for member in known.members} == {"C-01", "C-03", "C-04"}


def test_a_group_of_two_airframes_is_refused_with_their_number(
    described: Store, tmp_path: Path
) -> None:
    flown_points(tmp_path / "few.csv", ["C-02", "C-03"])
    import_points(described, tmp_path / "few.csv")
    with pytest.raises(FitError, match="2 of the 3 airframes"):
        gather_points(described, None, "up", FULL)
    with pytest.raises(FitError, match="the largest has 2"):
        gather_points(described, None, "up")
    with pytest.raises(FitError, match="of 0 of the 3 airframes"):
        gather_points(described, None, "20", FULL)
