"""Invented fleets flown level at known powers, and how often the band of TAS holds the truth.

The physics is written out again: a parabolic polar for each aircraft, level
flight where power given and power needed meet, and every reading with its error.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fleetcal.airdata.performance.generalised_power import LevelFlight
from fleetcal.fleet.model_checks import fit_checked
from fleetcal.fleet.points import Array
from fleetcal.services.performance.cruise_runs import (
    CruiseRuns,
    cruise_points,
    middle_scaling_kt,
    power_doubt,
)
from fleetcal.services.performance.cruise_speeds import CruiseAsk, own_cruise, pooled_cruise

SCALING_KT = 45.0
#: Power at sea level and reference weight, share of rated: A (V/45)^3 + B (45/V).
PARASITE, INDUCED = 0.0360, 0.34
ASKED = (CruiseAsk(75.0, 4000.0, 1.0), CruiseAsk(65.0, 8000.0, 1.0), CruiseAsk(60.0, 2000.0, 0.95))


@dataclass(frozen=True, kw_only=True)
class CruisePlan:
    """What an invented fleet is drawn from; spreads and errors are relative standard deviations.

    Attributes:
        aircraft, sorties, runs: Runs in each sortie of each aircraft.
        drag_spread: Between aircraft, of either part of the power needed.
        u_power, u_reading: In % of rated power; of all runs of an aircraft, and of each run.
        u_tas, u_temperature, u_weight: Of a run; of an aircraft, in all its sorties; shared by a
            sortie.
    """

    aircraft: int = 6
    sorties: int = 1
    runs: int = 5
    drag_spread: float = 0.02
    u_power: float = 3.0
    u_reading: float = 1.0
    u_tas: float = 0.006
    u_temperature: float = 1.0 / 280.0
    u_weight: float = 0.015


def sigma_of(altitude_ft: Array | float, warmer_k: Array | float = 0.0) -> Array:
    """Return the density ratio of air warmer than standard."""
    theta = 1.0 - 6.87559e-6 * np.asarray(altitude_ft)
    return np.asarray(theta**5.25588 / (theta + np.asarray(warmer_k) / 288.15))


def true_tas(power: Array, sigma: Array, weight: Array, parts: tuple[Array, Array]) -> Array:
    """Return the faster speed, kt, at which power given and needed meet, by Newton's method."""
    parasite, induced = parts
    ve = np.full(np.broadcast(power, sigma, weight, parasite).shape, 150.0)
    for _ in range(60):
        need = parasite * (ve / SCALING_KT) ** 3 + induced * weight**2 * SCALING_KT / ve
        slope = 3.0 * parasite * ve**2 / SCALING_KT**3 - induced * weight**2 * SCALING_KT / ve**2
        ve = ve - (need - power * np.sqrt(sigma)) / slope
    return np.asarray(ve / np.sqrt(sigma))


def fly(plan: CruisePlan, rng: np.random.Generator) -> CruiseRuns:
    """Fly every aircraft at powers from 50 to 80 % at all altitudes, and read with error."""
    each = plan.sorties * plan.runs
    plane = np.repeat(np.arange(plan.aircraft), each)
    sortie = np.repeat(np.arange(plan.aircraft * plan.sorties), plan.runs)
    sorties = plan.aircraft * plan.sorties
    steps = np.linspace(50.0, 80.0, plan.runs)
    power = np.tile(steps, sorties) + rng.uniform(-2.0, 2.0, len(plane))
    altitude = rng.uniform(2000.0, 9000.0, len(plane))
    warmer = rng.uniform(-10.0, 20.0, sorties)[sortie]
    weight = rng.uniform(0.85, 1.0, sorties)[sortie]
    own = rng.normal(1.0, plan.drag_spread, (2, plan.aircraft))[:, plane]
    sigma = sigma_of(altitude, warmer)
    tas = true_tas(power / 100.0, sigma, weight, (PARASITE * own[0], INDUCED * own[1]))

    def together(u: float) -> Array:
        return np.asarray(rng.normal(0.0, u, sorties)[sortie])

    display = rng.normal(0.0, plan.u_power, plan.aircraft)[plane]
    noted = power + display + rng.normal(0.0, plan.u_reading, len(plane))
    flight = LevelFlight(
        noted / 100.0,
        tas * (1.0 + rng.normal(0.0, plan.u_tas, len(plane))),
        sigma / (1.0 + rng.normal(0.0, plan.u_temperature, plan.aircraft)[plane]),
        weight * (1.0 + together(plan.u_weight)),
    )
    same = np.ones(len(plane))
    return CruiseRuns(
        flight=flight,
        u_power=plan.u_power / noted,
        u_reading=plan.u_reading / noted,
        u_tas=plan.u_tas * same,
        u_temperature=-plan.u_temperature * same,
        charted=0.0 * same,
        sortie=sortie,
        aircraft=plane,
        group_of=np.zeros(plan.aircraft, dtype=np.int64),
    )


def span(runs: CruiseRuns) -> tuple[float, float]:
    """Return the slowest and fastest VIW."""
    return float(runs.flight.viw.min()), float(runs.flight.viw.max())


def truth_of(ask: CruiseAsk) -> float:
    """Return the true airspeed of the mean aircraft, kt."""
    sigma, weight = sigma_of(ask.altitude_ft), np.array(ask.weight_ratio)
    parts = (np.array(PARASITE), np.array(INDUCED))
    return float(true_tas(np.array(ask.power_pct / 100.0), sigma, weight, parts))


def cruise_held(plan: CruisePlan, order: int | None, seed: int) -> tuple[float, ...]:
    """Return 1 where the band of TAS of one fleet holds the truth, then 1 where one is told."""
    runs = fly(plan, np.random.default_rng(seed))
    scaling = middle_scaling_kt(runs)
    points = cruise_points(runs, scaling)
    if plan.aircraft == 1:
        curve = own_cruise(points, power_doubt(runs, scaling), scaling)
    else:
        fit, _ = fit_checked(points, order)
        curve = pooled_cruise(fit, 0, scaling, span(runs))
    found = [curve.speed(ask) for ask in ASKED]
    given = [float(not one.why) for one in found]
    inside = [
        float(one.mean_low_kt <= truth_of(ask) <= one.mean_high_kt) * g
        for one, ask, g in zip(found, ASKED, given, strict=True)
    ]
    return (*inside, *given)
