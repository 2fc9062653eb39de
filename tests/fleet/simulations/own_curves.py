"""How often an aircraft's own curve, joined with its group, holds the truth of that aircraft."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import Executor
from typing import Final

import numpy as np

from fleetcal.fleet.basis import curve_basis
from fleetcal.fleet.few_aircraft import fit_few, one_more
from fleetcal.fleet.fewest import FEWEST_AIRCRAFT
from fleetcal.fleet.model_checks import fit_checked
from fleetcal.fleet.own_curve import OwnPoints, own_curve
from fleetcal.fleet.points import FleetPoints
from fleetcal.fleet.port_prior import PortPrior
from fleetcal.services.curves.usual_spread import UsualSpread

from .campaign import outcomes
from .invented_fleet import Plan, draw, drawn_departures, lift_at, mean_curve

LOOKED_AT_KT: Final = np.array([75.0, 100.0, 130.0])
#: Aircraft of each fleet that are looked at.
_LOOKED_AT: Final = 4


def own_held(plan: Plan, order: int | None, seed: int) -> tuple[float, ...]:
    """Return shares of aircraft whose own band holds, at each speed, then half widths in knots.

    Then whether the curve of one more aircraft lies in what is known of it beforehand.
    """
    points = draw(plan, np.random.default_rng(seed))
    departures = drawn_departures(plan, np.random.default_rng(seed))
    lift = lift_at(LOOKED_AT_KT)
    if plan.aircraft < FEWEST_AIRCRAFT:
        fit = fit_few(points, UsualSpread().known, PortPrior())
    else:
        fit, _ = fit_checked(points, order)
    inside, half = [], []
    for aircraft in range(min(plan.aircraft, _LOOKED_AT)):
        band = own_curve(one_more(fit, 0, aircraft), own_points_of(points, aircraft)).band(lift)
        truth = mean_curve(plan, lift) + curve_basis(lift, 1) @ departures[aircraft]
        inside.append((band.low <= truth) & (truth <= band.high))
        half.append(0.5 * (band.high - band.low) * LOOKED_AT_KT / 2.0)
    return (*np.mean(inside, axis=0), *np.mean(half, axis=0))


def own_points_of(points: FleetPoints, aircraft: int) -> OwnPoints:
    """Return the points of one aircraft of an invented fleet."""
    rows = np.flatnonzero(points.aircraft == aircraft)
    return OwnPoints(
        x=points.x[rows],
        y=points.y[rows],
        errors=points.error_covariance(rows),
        lasting=np.zeros((len(rows), 0)),
    )


def own_lines(fleets: int, pool: Executor, first_seed: int, apart: int) -> Iterator[str]:
    """Yield a line for each kind of fleet.

    Args:
        apart: Seeds that a line may use.
    """
    at = ", ".join(f"{speed:.0f}" for speed in LOOKED_AT_KT)
    yield f"own curves joined with the group: 95 % band holds at {at} kt, % | half width, kt"
    kinds = [
        *((f"{n} aircraft", Plan(aircraft=n)) for n in (1, 2, 3, 6, 10, 30)),
        ("10, one sortie each", Plan(aircraft=10, sorties=1)),
        ("10, ragged", Plan(aircraft=10, ragged=True)),
        ("10, heavy tails", Plan(aircraft=10, tails="heavy")),
        ("10, kinked 0.6 kt", Plan(aircraft=10, shape="kinked", off_kt=0.6)),
        ("2, spread 2 kt", Plan(aircraft=2, spread_kt=2.0, tilt=0.06)),
    ]
    for line, (name, plan) in enumerate(kinds):
        values = outcomes(own_held, plan, None, fleets, first_seed + line * apart, pool)
        mean = values.mean(axis=0)
        error = 100.0 * float((values[:, :3].std(axis=0) / np.sqrt(fleets)).max())
        held = " ".join(f"{100.0 * one:5.1f}" for one in mean[:3])
        half = " ".join(f"{one:4.2f}" for one in mean[3:])
        yield f"  {name:20}: {held} | {half}  (+- {error:.1f})"
