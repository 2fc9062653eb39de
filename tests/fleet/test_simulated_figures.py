"""What the bands and verdicts promise, on invented fleets: fewer than the full simulations.

Of 60 fleets a share of 95 % has a Monte Carlo error of 2.8 points, one of 5 % likewise. Three are
allowed, so what is found is a fault that shows: bands 0.6 times as wide, or every airframe of a
group judged as if it were the only one. Finer ones are for ``python -m tests.fleet.simulations``.
"""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import Executor
from functools import partial

import numpy as np
import pytest

from tests.fleet.simulations.bands import covered
from tests.fleet.simulations.campaign import outcomes, rates, workers
from tests.fleet.simulations.flags import flagged
from tests.fleet.simulations.flown_plans import flown_plan, invented
from tests.fleet.simulations.invented_fleet import Plan
from tests.fleet.simulations.plan_shows import worth_of
from tests.fleet.simulations.settled_standings import foreseen
from tests.fleet.simulations.shapes import LOOKED_AT_KT, covered_where_shaped
from tests.fleet.simulations.watched import Season, alarmed, found_soon

pytestmark = pytest.mark.long
FLEETS = 60
BANDS = 200  # of which a share hardly above 97 % is told from one of 100 %
SEASONS = 200  # of which one of 200 raises an alarm


@pytest.fixture(scope="module")
def pool() -> Iterator[Executor]:
    with workers(2) as processes:
        yield processes


@pytest.mark.parametrize("aircraft", [6, 10, 30])
def test_both_bands_hold_the_truth_as_often_as_they_say(aircraft: int, pool: Executor) -> None:
    # 93 to 97 % is meant; three Monte Carlo errors more are allowed for
    share, error = rates(covered, Plan(aircraft=aircraft), None, BANDS, 300_000_000, pool)
    assert np.all(share > 0.93 - 3.0 * error)
    assert np.all(share < 0.97 + 3.0 * error)


@pytest.mark.parametrize("shape", ["exponential", "kinked", "wavy"])
@pytest.mark.parametrize("aircraft", [10, 30])
def test_bands_as_printed_hold_means_that_are_no_quadratic_at_the_worst_speed(
    shape: str, aircraft: int, pool: Executor
) -> None:
    # bands that were widened only where a bend was surely seen held 46 to 89 %
    plan = Plan(aircraft=aircraft, shape=shape, off_kt=0.6)
    share, error = rates(covered_where_shaped, plan, None, FLEETS, 305_000_000, pool)
    speeds = len(LOOKED_AT_KT)
    assert np.all(share[: 2 * speeds] > 0.92 - 3.0 * error[: 2 * speeds])


def test_bands_as_printed_are_not_much_too_wide_where_the_mean_is_a_quadratic(
    pool: Executor,
) -> None:
    share, error = rates(
        covered_where_shaped, Plan(aircraft=10, bend=0.2), None, FLEETS, 306_000_000, pool
    )
    speeds = len(LOOKED_AT_KT)
    assert np.mean(share[:speeds]) < 0.98 + 3.0 * np.mean(error[:speeds])
    assert np.all(share[: 2 * speeds] > 0.93 - 3.0 * error[: 2 * speeds])


@pytest.mark.parametrize("aircraft", [6, 10, 30])
def test_a_clean_group_is_left_alone_nineteen_times_of_twenty(
    aircraft: int, pool: Executor
) -> None:
    share, _ = rates(flagged, Plan(aircraft=aircraft), None, FLEETS, 310_000_000, pool)
    assert share[1] < 0.05 + 3.0 * np.sqrt(0.05 * 0.95 / FLEETS)


def test_one_bad_aircraft_of_ten_is_found_at_least_as_often_as_by_the_exact_test(
    pool: Executor,
) -> None:
    share, error = rates(
        flagged, Plan(aircraft=10, offsets_kt=(5.0,)), None, FLEETS, 320_000_000, pool
    )
    assert share[0] > share[6] - 3.0 * error[0]
    assert share[4] > 0.85  # the judge who knows would


def test_two_bad_aircraft_of_twelve_do_not_hide_each_other(pool: Executor) -> None:
    # left out one at a time, they are found in one fleet of fifty
    plan = Plan(aircraft=12, offsets_kt=(5.0, 5.0))
    share, _ = rates(flagged, plan, None, FLEETS, 330_000_000, pool)
    assert share[0] > 0.35


@pytest.mark.parametrize(
    ("flown", "least"),
    [
        ("nothing", 1.03),
        ("two sorties, slow to cruise", 1.2),
        ("four sorties, cruise and fast", 1.4),
    ],
)
def test_a_flown_plan_shrinks_the_largest_band_more_than_equal_spacing(
    flown: str, least: float, pool: Executor
) -> None:
    told = outcomes(partial(flown_plan, flown, 4), invented(1), 1, 30, 340_000_000, pool)
    values, error = worth_of(told)
    assert values[0] > least - 3.0 * error[0]
    assert values[4] == pytest.approx(1.0, abs=0.05 + 3.0 * error[4])  # the largest, as promised
    assert values[6] > 0.9 - 3.0 * error[6]  # and the truth is in the promised bands


def test_promised_chances_of_a_settled_verdict_come_true(pool: Executor) -> None:
    trial = partial(foreseen, "two sorties, slow to cruise", True)
    told = outcomes(trial, Plan(aircraft=10), 1, 40, 350_000_000, pool)
    promised, happened = told[:, 0::4], told[:, 1::4]
    # the numbers of sorties share a fleet: as sure as 40 outcomes
    assert np.mean(promised) == pytest.approx(np.mean(happened), abs=3.0 * 0.5 / np.sqrt(40.0))
    likely = promised > 0.75
    assert np.mean(happened[likely]) > 0.85
    assert np.mean(happened[promised < 0.25]) < 0.15


def test_a_watch_is_quiet_over_clean_seasons_and_finds_a_change_within_five_flights(
    pool: Executor,
) -> None:
    share, _ = rates(alarmed, Season(), None, SEASONS, 360_000_000, pool)
    assert share[0] <= 0.005 + 3.0 * np.sqrt(0.005 / SEASONS)
    share, error = rates(found_soon, Season(step_kt=3.0), None, FLEETS, 370_000_000, pool)
    assert share[2] > 0.9 - 3.0 * error[2]
    assert share[5] / share[3] > 0.95 - 3.0 * error[5]
    assert np.all(share[6:9] / share[3] > 0.93 - 3.0 * np.sqrt(0.05 / FLEETS))
