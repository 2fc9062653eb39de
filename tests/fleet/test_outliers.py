"""Which aircraft are set aside, and that two bad ones cannot hide each other."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from fleetcal.fleet.outliers import judge_fleet
from fleetcal.fleet.points import Array, FleetPoints
from tests.fleet.fleet_maker import fleet_points, level_fleet

SPREAD = 0.02


def _fleet(seed: int, aircraft: int, offsets: dict[int, float], groups: int = 1) -> FleetPoints:
    """Return a fleet in which some aircraft are off by so many spreads."""
    points = level_fleet(seed, aircraft, 6, spread=SPREAD)
    offset = np.array([offsets.get(a, 0.0) for a in range(aircraft)])
    return fleet_points(
        points.x,
        points.y + SPREAD * offset[points.aircraft],
        points.u_own,
        points.aircraft,
        group_of=np.arange(aircraft) % groups,
    )


def _flagged(adjusted: Array) -> list[int]:
    return [int(a) for a in np.flatnonzero(adjusted < 0.05)]


@pytest.mark.long
@pytest.mark.parametrize(("aircraft", "fleets"), [(6, 20), (10, 14), (20, 6)])
def test_nobody_is_set_aside_from_most_clean_fleets(aircraft: int, fleets: int) -> None:
    # one false flag in twenty fleets is meant; how many there are is simulated elsewhere
    wrong = sum(bool(judge_fleet(_fleet(seed, aircraft, {})).suspects) for seed in range(fleets))
    assert wrong <= 2


def test_one_aircraft_far_off_is_set_aside_and_the_others_are_judged_without_it() -> None:
    verdicts = judge_fleet(_fleet(81, 10, {4: 12.0}))
    assert verdicts.suspects == {4}
    assert _flagged(verdicts.adjusted) == [4]
    assert [s.others for s in verdicts.standings] == [9 if a == 4 else 8 for a in range(10)]
    assert verdicts.standings[4].departure[0] == pytest.approx(12.0 * SPREAD, abs=3.0 * SPREAD)


@pytest.mark.parametrize("far", [15.0, 100.0])
@pytest.mark.parametrize("way", [1.0, -1.0], ids=["the same way", "opposite ways"])
def test_two_aircraft_equally_far_off_do_not_hide_each_other(far: float, way: float) -> None:
    # one at a time neither stands out at any distance: t = (n-1)/sqrt(n+1) at most, 2.6 of 9
    verdicts = judge_fleet(_fleet(82, 12, {3: far, 7: way * far}))
    assert verdicts.suspects == {3, 7}
    assert _flagged(verdicts.adjusted) == [3, 7]


def test_three_of_twelve_are_found_together() -> None:
    assert judge_fleet(_fleet(83, 12, {0: 20.0, 5: 21.0, 9: 22.0})).suspects == {0, 5, 9}


def test_a_second_aircraft_less_far_off_shows_once_the_first_is_gone() -> None:
    verdicts = judge_fleet(_fleet(84, 12, {2: 60.0, 8: 14.0}))
    assert _flagged(verdicts.adjusted) == [2, 8]


@pytest.mark.long
def test_a_group_keeps_more_than_half_of_its_aircraft_and_three() -> None:
    # four bad of eight: the fourth stays, or half the group would be gone
    many = _fleet(85, 28, {0: 30.0, 1: -30.0, 2: 60.0, 3: -60.0})
    split = replace(many, group_of=np.repeat([0, 1], [8, 20]))
    assert len(judge_fleet(split, order=1).suspects) == 3
    four = judge_fleet(_fleet(86, 4, {0: 40.0, 1: -40.0}))
    assert len(four.suspects) <= 1


def test_an_aircraft_is_judged_by_its_own_group() -> None:
    points = _fleet(87, 16, {}, groups=2)
    shifted = fleet_points(
        points.x,
        points.y + 10.0 * SPREAD * (points.aircraft % 2),
        points.u_own,
        points.aircraft,
        group_of=points.group_of,
    )
    before, after = judge_fleet(points), judge_fleet(shifted)
    np.testing.assert_allclose(after.adjusted, before.adjusted, rtol=1e-3)


def test_groups_share_their_spread_so_a_small_group_can_tell_more() -> None:
    alone = _fleet(88, 5, {2: 7.0})
    others = level_fleet(89, 20, 6, spread=SPREAD)
    together = fleet_points(
        np.r_[alone.x, others.x],
        np.r_[alone.y, others.y],
        np.r_[alone.u_own, others.u_own],
        np.r_[alone.aircraft, others.aircraft + 5],
        group_of=np.repeat([0, 1], [5, 20]),
    )
    few, many = judge_fleet(alone, order=1), judge_fleet(together, order=1)
    assert many.standings[2].p_value < few.standings[2].p_value
    assert 2 in many.suspects


def test_the_numbering_of_the_aircraft_changes_no_verdict() -> None:
    points = _fleet(90, 9, {1: 12.0})
    turned = fleet_points(points.x, points.y, points.u_own, 8 - points.aircraft)
    before, after = judge_fleet(points), judge_fleet(turned)
    np.testing.assert_allclose(after.adjusted[::-1], before.adjusted, rtol=1e-3)
    assert {8 - a for a in after.suspects} == before.suspects


def test_a_stricter_level_sets_fewer_aside() -> None:
    points = _fleet(91, 10, {4: 6.5})
    p_value = float(np.nanmin(judge_fleet(points).adjusted))
    assert judge_fleet(points, level=min(2.0 * p_value, 0.999)).suspects == {4}
    assert judge_fleet(points, level=p_value / 2.0).suspects == frozenset()


def test_the_fit_told_with_the_verdicts_is_of_all_aircraft() -> None:
    verdicts = judge_fleet(_fleet(92, 10, {4: 12.0}))
    assert len(verdicts.fit.sums.group_of) == 10
