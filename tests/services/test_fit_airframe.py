"""The own curve of one airframe, from the store."""

from __future__ import annotations

from datetime import UTC, date, datetime
from pathlib import Path

import numpy as np
import pytest

from fleetcal.errors import DataError, FitError
from fleetcal.services.curves.fitted_group import CurveRequest, FittedGroup
from fleetcal.services.curves.pooled_curve import PooledCurve, describe_curve, fit_group
from fleetcal.services.handbook.fitted_port import FittedPort
from fleetcal.services.points.exchange_points import import_points
from fleetcal.services.publishing.issues import make_issue
from fleetcal.store import Store, reject_points
from tests.services.invented_group import WING, flown_points

EVERYBODY = ["C-02", "C-03", "C-04", "C-05", "C-07"]


def flown_by(store: Store, folder: Path, tags: list[str]) -> None:
    flown_points(folder / "p.csv", tags)
    import_points(store, folder / "p.csv")


def fitted(store: Store, name: str) -> FittedGroup:
    return fit_group(store, CurveRequest(group=name, step_kt=10.0))


def told(store: Store, name: str) -> PooledCurve:
    return describe_curve(fitted(store, name))


def half_kt(curve: PooledCurve) -> dict[float, float]:
    return {
        row.given_kt: (row.mean_high_kt - row.mean_low_kt) / 2.0
        for row in curve.rows
        if row.mean_high_kt is not None and row.mean_low_kt is not None
    }


def test_one_airframe_alone_has_a_curve_at_the_speeds_that_it_flew(
    described: Store, tmp_path: Path
) -> None:
    flown_by(described, tmp_path, ["C-02"])
    curve = told(described, "C-02")
    assert curve.airframe == "C-02"
    assert (curve.airframes, curve.points) == (1, 3)
    inside = [row for row in curve.rows if 72.0 <= row.given_kt <= 127.0]
    assert all(row.correction_kt is not None for row in inside)
    assert "no other airframe" in curve.rests_on[0]
    assert curve.answers[0].startswith("At 600 kg C-02 reads ")
    for row in inside:
        assert (row.mean_low_kt, row.mean_high_kt) == (row.next_low_kt, row.next_high_kt)


def test_a_tag_is_known_in_any_case(described: Store, tmp_path: Path) -> None:
    flown_by(described, tmp_path, ["C-02"])
    assert told(described, " c-02").airframe == "C-02"


def test_others_with_the_same_static_source_narrow_the_curve_of_one(
    described: Store, tmp_path: Path
) -> None:
    flown_by(described, tmp_path, ["C-02"])
    alone = half_kt(told(described, "C-02"))
    flown_by(described, tmp_path, EVERYBODY[1:])
    curve = told(described, "C-02")
    joined = half_kt(curve)
    assert np.mean([joined[v] for v in alone if v in joined]) < np.mean([*alone.values()])
    assert "joined with those of 4 other airframes" in curve.rests_on[0]


def test_an_airframe_without_points_has_what_its_group_says_of_one_more(
    described: Store, tmp_path: Path
) -> None:
    flown_by(described, tmp_path, EVERYBODY[:-1])
    own, group = told(described, "C-07"), told(described, WING)
    assert "no points of its own yet" in own.rests_on[0]
    ends = {row.given_kt: (row.next_low_kt, row.next_high_kt) for row in group.rows}
    for row in (row for row in own.rows if row.correction_kt is not None):
        assert row.note == "C-07 has not flown it: this is from its group"
        assert (row.mean_low_kt, row.mean_high_kt) == pytest.approx(ends[row.given_kt], abs=1e-6)


def test_an_airframe_that_nobody_of_its_port_has_flown_is_refused_with_what_to_do(
    described: Store,
) -> None:
    with pytest.raises(FitError, match="C-06 has no points") as refused:
        told(described, "C-06")
    assert "reduce LOG --airframe C-06" in str(refused.value.hint)


def test_an_airframe_whose_points_are_all_kept_out_does_not_get_its_groups_answer(
    described: Store, tmp_path: Path
) -> None:
    flown_by(described, tmp_path, EVERYBODY)
    own = [row.number for row in fitted(described, "C-02").known.rows]
    with described.writing() as session:
        reject_points(session, own, "static line leaks", datetime(2026, 1, 2, tzinfo=UTC))
    with pytest.raises(FitError, match=r"C-02 has no correction: .*leaks"):
        told(described, "C-02")


def test_a_group_of_two_is_wide_and_says_what_is_supposed(described: Store, tmp_path: Path) -> None:
    flown_by(described, tmp_path, EVERYBODY[:2])
    two = told(described, WING)
    flown_by(described, tmp_path, EVERYBODY[2:])
    five = told(described, WING)
    assert "From 2 airframes only: how much airframes differ is supposed" in two.rests_on[0]
    assert five.rests_on == ()
    wide, narrow = half_kt(two), half_kt(five)
    assert np.mean([wide[v] for v in wide]) > np.mean([narrow[v] for v in wide if v in narrow])


def test_a_group_of_one_has_a_wide_curve(described: Store, tmp_path: Path) -> None:
    flown_by(described, tmp_path, ["C-02"])
    own, group = told(described, "C-02"), told(described, WING)
    assert group.airframe is None
    assert "From 1 airframe only" in group.rests_on[0]
    wide, narrow = half_kt(group), half_kt(own)
    assert all(wide[v] > narrow[v] for v in narrow)
    assert all("1 airframe" in row.note for row in group.rows if row.correction_kt is not None)


def test_an_issue_still_needs_three_airframes_and_is_of_a_group(
    described: Store, tmp_path: Path
) -> None:
    flown_by(described, tmp_path, EVERYBODY[:2])
    for name, missing in ((WING, "of 2 of the 3 airframes"), ("C-02", "is one airframe")):
        with pytest.raises((FitError, DataError), match=missing):
            make_issue(
                described, CurveRequest(group=name), tmp_path / "x", date(2026, 1, 2), "first"
            )
    assert not (tmp_path / "x").exists()


def test_choices_among_a_pool_are_not_for_one_airframe(described: Store, tmp_path: Path) -> None:
    flown_by(described, tmp_path, EVERYBODY)
    with pytest.raises(DataError, match="for groups"):
        fit_group(described, CurveRequest(group="C-02", without_airframes=("C-03",)))


def test_a_group_is_read_both_ways_only_where_three_airframes_flew(
    described: Store, tmp_path: Path
) -> None:
    flown_by(described, tmp_path, EVERYBODY)
    port = FittedPort(fitted(described, WING))
    # 70 to 120 kt at 540 to 580 kg: three of five from 72.46 to 124.21 kt at 600
    assert port.reach == pytest.approx((72.46 - 2.5, 124.21 + 2.5), abs=0.01)
    own = FittedPort(fitted(described, "C-02"))
    # its own points are 73.8 and 126.5 kt at 600 kg
    assert own.reach[1] == pytest.approx(126.5 + 2.5, abs=0.1)
