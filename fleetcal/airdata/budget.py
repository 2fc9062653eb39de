"""Uncertainty budget of one run of GPS legs, term by term.

Follows the Guide to the Expression of Uncertainty in Measurement (JCGM
100:2008): each input quantity has a standard uncertainty, the solution's own
sensitivities carry it into kappa, and the terms add in squares. Each term says
whose error it is: the point's alone, or one unknown value at all points of a
sortie, of an airframe or of the fleet, which the fleet fit must know. Signs are
kept, so that terms with one unknown value can be combined.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar, Literal

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.airdata.instrument_tolerance import (
    airspeed_tolerance,
    altimeter_tolerance,
    u_or_tolerance,
)
from fleetcal.airdata.leg_solution import LegSolution
from fleetcal.airdata.reading import Readings
from fleetcal.airdata.reading_slopes import reading_slopes
from fleetcal.airdata.rounding import rounding_uncertainty
from fleetcal.airdata.sortie_air import TEN_MINUTES_S, RunAir, SortieAir
from fleetcal.records import BudgetTerm
from fleetcal.units import M_PER_FT, MPS_PER_KT

#: Whose error a term is: it has one unknown value at all points of its owner.
Owner = Literal["point", "sortie", "airframe", "fleet"]


@dataclass(frozen=True, kw_only=True)
class Assumptions:
    """Standard uncertainties that a recorded flight cannot show by itself.

    The defaults are common practice without a published source; give what is
    known of the aircraft's own instruments instead.

    Attributes:
        u_temperature_k: Bias of the outside-air temperature, K; the airframe's.
        u_recovery_factor: Uncertainty of the probe's recovery factor.
        recovery_owner: Whose error that is: an airframe's own probe, or the fleet's where nobody
            knows what a display shows that all may have.
        u_humidity: Uncertainty of the relative humidity, as a share of saturation; the sortie's.
        u_airspeed_mps, u_altitude_m: What is left after the bench corrections of airspeed indicator
            and altimeter, m/s and m; the airframe's. NaN for one that was never on a bench: then
            the tolerance is taken, see `instrument_tolerance`.
        u_ground_speed_mps: Error of a leg's mean GPS velocity, m/s.
        u_wind_mps: How much the wind differs from leg to leg beyond what the samples inside a leg
            show, m/s.
        u_wind_drift_mps2: Steady change of each wind component, m/s per second.
        prior_weight: How many spare legs the supposed leg scatter counts for, beside what the legs
            of the sortie show.
        leg_scatter_mps: Leg scatter found in earlier runs with spare legs, m/s; replaces what
            `u_wind_mps` and the samples suggest when a run has no spare leg.
    """

    u_temperature_k: float = 1.0
    u_recovery_factor: float = 0.1
    recovery_owner: Owner = "fleet"
    u_humidity: float = 0.05
    u_airspeed_mps: float = 0.3 * MPS_PER_KT
    u_altitude_m: float = 20.0 * M_PER_FT
    u_ground_speed_mps: float = 0.05
    u_wind_mps: float = 0.3 * MPS_PER_KT
    u_wind_drift_mps2: float = 1.0 * MPS_PER_KT / 600.0
    prior_weight: float = 8.0
    leg_scatter_mps: float | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class Term(BudgetTerm):
    """One line of the budget as it is worked out; degrees of freedom are infinite for kind 'B'."""

    owner: Owner
    degrees_of_freedom: float = np.inf

    LISTED: ClassVar = ("name", "u_kappa", "owner", "kind", "degrees_of_freedom", "note")


@dataclass(frozen=True, kw_only=True)
class LegData:
    """What the budget needs to know of the legs of one run.

    Attributes:
        east_mps, north_mps (legs,): Mean ground vectors, m/s.
        readings: Mean readings, shape (legs,).
        middle_s (legs,): Time at the middle of each leg, s.
        u_mean_mps (legs,): Standard uncertainty of a leg's mean from the scatter of its own
            samples, m/s; 0 where only one reading was taken.
        movement: Standard deviation of each logged quantity within a leg, SI.
        steps: Smallest step of each logged quantity, SI; 0 if not rounded.
    """

    east_mps: Array
    north_mps: Array
    readings: Readings
    middle_s: Array
    u_mean_mps: Array
    movement: dict[str, float]
    steps: dict[str, float]


def run_air(legs: LegData, solution: LegSolution, row: int, assumptions: Assumptions) -> RunAir:
    """Return what one solved run tells of the air of its sortie.

    Args:
        legs: Of the run in `row`.
    """
    count = len(legs.east_mps)
    wind = np.array([solution.wind_east_mps[row], solution.wind_north_mps[row]])
    air = np.stack([legs.east_mps, legs.north_mps]) - wind[:, None]
    _, slope = legs.readings.true_airspeed(solution.kappa[row : row + 1])
    return RunAir(
        air_direction=air / np.hypot(air[0], air[1]),
        airspeed_slope_mps=slope,
        gain=solution.gain[row, 2, :count],
        residual_mps=solution.residual_mps[row, :count],
        wind_mps=wind,
        middle_s=legs.middle_s,
        altitude_m=float(np.mean(legs.readings.altitude_m)),
        supposed_mps=supposed_leg_scatter(legs, assumptions),
    )


def run_budget(
    legs: LegData,
    solution: LegSolution,
    row: int,
    assumptions: Assumptions,
    air: SortieAir,
) -> tuple[Term, ...]:
    """Return every uncertainty term of kappa for one solved run.

    Args:
        legs: Of the run in `row`.
        solution: From `solve_legs`.
        row: Which run of the solution.
        air: What all runs of the sortie show.

    Returns:
        In a fixed order.
    """
    run = run_air(legs, solution, row, assumptions)
    gain = run.gain
    slopes = reading_slopes(legs.readings, float(solution.kappa[row]))
    return (
        _leg_scatter(run, air),
        *_wind_drift(run, air),
        *_ground_terms(legs, gain, run.air_direction, assumptions),
        *_rounding_terms(legs, gain, slopes),
        *instrument_terms(legs.readings, gain, slopes, assumptions),
    )


def combine(terms: tuple[Term, ...]) -> tuple[float, float]:
    """Return the combined standard uncertainty and its degrees of freedom.

    Returns:
        u(kappa) and the effective degrees of freedom by the Welch-Satterthwaite formula (JCGM
        100:2008, G.4.1).
    """
    variances = np.array([t.u_kappa**2 for t in terms])
    total = float(variances.sum())
    spread = float(
        sum(v**2 / t.degrees_of_freedom for v, t in zip(variances, terms, strict=True) if v > 0.0)
    )
    return float(np.sqrt(total)), total**2 / spread if spread > 0.0 else np.inf


def supposed_leg_scatter(legs: LegData, assumptions: Assumptions) -> float:
    """Return the leg scatter to expect before the spare legs are looked at.

    Returns:
        Standard deviation of one leg's residual, m/s.
    """
    spare = len(legs.east_mps) - 3
    if spare <= 0 and assumptions.leg_scatter_mps is not None:
        return assumptions.leg_scatter_mps
    return float(np.sqrt(np.mean(legs.u_mean_mps**2) + assumptions.u_wind_mps**2))


def _leg_scatter(run: RunAir, air: SortieAir) -> Term:
    scatter, freedom = air.scatter_of(run)
    each = scatter / float(np.sqrt(run.gain @ run.gain))
    return Term(
        name="leg scatter",
        u_kappa=scatter,
        owner="point",
        kind="A",
        degrees_of_freedom=freedom,
        note=(
            f"{each / MPS_PER_KT:.2f} kt a leg, wind wandering {air.wander_kt:.1f} kt in ten "
            f"minutes, {max(len(run.gain) - 3, 0)} spare legs"
        ),
    )


def _wind_drift(run: RunAir, air: SortieAir) -> tuple[Term, ...]:
    rates = np.sqrt(np.diag(air.drift_square)) * TEN_MINUTES_S / MPS_PER_KT
    return tuple(
        Term(
            name=f"wind drift {way}",
            u_kappa=effect,
            owner="sortie",
            kind="B",
            note=f"{rate:.2f} kt in ten minutes",
        )
        for way, effect, rate in zip(("east", "north"), air.drift_of(run), rates, strict=True)
    )


def _ground_terms(
    legs: LegData, gain: Array, air: Array, assumptions: Assumptions
) -> tuple[Term, ...]:
    speed = np.hypot(legs.east_mps, legs.north_mps)
    along = (air[0] * legs.east_mps + air[1] * legs.north_mps) / speed
    across = (air[0] * legs.north_mps - air[1] * legs.east_mps) / speed
    step = rounding_uncertainty(
        legs.steps.get("ground_speed", 0.0), legs.movement.get("ground_speed", 0.0)
    )
    turn = rounding_uncertainty(legs.steps.get("track", 0.0), legs.movement.get("track", 0.0))
    return (
        Term(
            name="ground speed",
            u_kappa=float(np.sqrt(gain @ gain) * assumptions.u_ground_speed_mps),
            owner="point",
            kind="B",
            note=f"{assumptions.u_ground_speed_mps:.2f} m/s a leg",
        ),
        Term(
            name="ground speed rounding",
            u_kappa=_in_squares(gain * along * step),
            owner="point",
            kind="B",
        ),
        Term(
            name="track rounding",
            u_kappa=_in_squares(gain * across * speed * turn),
            owner="point",
            kind="B",
        ),
    )


def _rounding_terms(legs: LegData, gain: Array, slopes: dict[str, Array]) -> tuple[Term, ...]:
    def left(quantity: str) -> float:
        return rounding_uncertainty(legs.steps.get(quantity, 0.0), legs.movement.get(quantity, 0.0))

    common = {"altitude": "altitude rounding", "temperature": "temperature rounding"}
    effects = gain * slopes["airspeed"] * left("airspeed")
    read_once = legs.movement.get("airspeed", 0.0) == 0.0
    airspeed = (
        _by_number(effects, legs.readings.airspeed_mps, legs.steps.get("airspeed", 0.0))
        if read_once
        else _in_squares(effects)
    )
    return (
        Term(name="airspeed rounding", u_kappa=airspeed, owner="point", kind="B"),
        *(
            Term(
                name=name,
                u_kappa=float(gain @ slopes[quantity] * left(quantity)),
                owner="point",
                kind="B",
            )
            for quantity, name in common.items()
        ),
    )


def instrument_terms(
    readings: Readings, gain: Array, slopes: dict[str, Array], assumptions: Assumptions
) -> tuple[Term, ...]:
    """Return the terms of instruments, whose errors last from one sortie to the next.

    Args:
        readings: Shape (n,): of legs or samples.
        gain (n,): How kappa answers to a change of each true airspeed, per m/s.
        slopes: From `reading_slopes`.

    Returns:
        Temperature, recovery factor, humidity, airspeed indicator and altimeter.
    """
    corrected = bool(np.all(readings.recovery_factor == 0.0))
    u_recovery = 0.0 if corrected else assumptions.u_recovery_factor
    warmth, moist = assumptions.u_temperature_k, assumptions.u_humidity
    u_airspeed = u_or_tolerance(
        assumptions.u_airspeed_mps, airspeed_tolerance(readings.airspeed_mps)
    )
    u_altitude = u_or_tolerance(assumptions.u_altitude_m, altimeter_tolerance(readings.altitude_m))
    own = assumptions.recovery_owner
    inputs: dict[str, tuple[str, Array | float, Owner, str]] = {
        "temperature": ("outside-air temperature", warmth, "airframe", f"{warmth:.3g} K"),
        "recovery": ("recovery factor", u_recovery, own, f"{u_recovery:.3g}"),
        "humidity": ("humidity", moist, "sortie", f"{100.0 * moist:.0f} % relative humidity"),
        "airspeed": (
            "airspeed indicator",
            u_airspeed,
            "airframe",
            f"{np.mean(u_airspeed):.3g} m/s",
        ),
        "altitude": ("altimeter", u_altitude, "airframe", f"{np.mean(u_altitude):.3g} m"),
    }
    return tuple(
        Term(
            name=name,
            u_kappa=float(gain @ (slopes[quantity] * u)),
            owner=owner,
            kind="B",
            note=note,
        )
        for quantity, (name, u, owner, note) in inputs.items()
    )


def _by_number(effects: Array, logged: Array, step: float) -> float:
    """Combine rounding effects of single readings: one number read on several legs is one error.

    A needle held on a number is held there on every leg. Samples that move lie
    anywhere about their number, on each leg elsewhere, and share nothing.
    """
    if step <= 0.0:
        return 0.0
    numbers = np.round(logged / step)
    return _in_squares(np.array([effects[numbers == n].sum() for n in np.unique(numbers)]))


def _in_squares(effects: Array) -> float:
    return float(np.sqrt(np.sum(effects**2)))
