"""Uncertainty budget of one run, manoeuvre or airspeed of a solved flight, term by term.

Follows the Guide to the Expression of Uncertainty in Measurement (JCGM
100:2008): each input quantity has a standard uncertainty, the solution's own
sensitivities carry it into kappa, and the terms add in squares. Each term says
whose error it is: the point's alone, or one unknown value at all points of a
sortie, of an airframe or of the fleet, which the fleet fit must know. Signs are
kept, so that terms with one unknown value can be combined.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar, Final, Literal

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.airdata.instrument_tolerance import (
    airspeed_tolerance,
    altimeter_tolerance,
    u_or_tolerance,
)
from fleetcal.airdata.reading import Readings
from fleetcal.airdata.rounding import pieces_rounding
from fleetcal.airdata.solve_pieces import FlightWind
from fleetcal.airdata.wind_strengths import TEN_MINUTES_S, AirPrior
from fleetcal.records import BudgetTerm
from fleetcal.units import M_PER_FT, MPS_PER_KT

#: Whose error a term is: it has one unknown value at all points of its owner.
Owner = Literal["point", "sortie", "airframe", "fleet"]
#: A part of the scatter with less than this share of the variance is no term of its own.
_LEAST_SHARE: Final = 1e-9
#: No air is stiller than this, and no more is worth supposing, kt in ten minutes.
_WIND_KT: Final = (0.1, 100.0)


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
        u_ground_speed_mps: What errors of the GPS velocity leave in half a minute at least, m/s.
        u_wind_mps: How much the wind differs from pass to pass of a speed course, m/s.
        wind_wander_mps: What each wind component may well wander in ten minutes, m/s.
        u_wind_drift_mps2: Steady change of each wind component, m/s per second.
        prior_weight: How many spare pairs of passes the supposed wind counts for.
        leg_scatter_mps: Leg scatter found in earlier runs with spare legs, m/s; taken where the
            legs of a flight show none.
    """

    u_temperature_k: float = 1.0
    u_recovery_factor: float = 0.1
    recovery_owner: Owner = "fleet"
    u_humidity: float = 0.05
    u_airspeed_mps: float = 0.3 * MPS_PER_KT
    u_altitude_m: float = 20.0 * M_PER_FT
    u_ground_speed_mps: float = 0.05
    u_wind_mps: float = 0.3 * MPS_PER_KT
    wind_wander_mps: float = 2.0 * MPS_PER_KT
    u_wind_drift_mps2: float = 1.0 * MPS_PER_KT / 600.0
    prior_weight: float = 8.0
    leg_scatter_mps: float | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class Term(BudgetTerm):
    """One line of the budget as it is worked out; degrees of freedom are infinite for kind 'B'."""

    owner: Owner
    degrees_of_freedom: float = np.inf

    LISTED: ClassVar = ("name", "u_kappa", "owner", "kind", "degrees_of_freedom", "note")


def air_prior(assumptions: Assumptions) -> AirPrior:
    """Return what is supposed of the air before a flight is looked at."""
    wander_kt = assumptions.wind_wander_mps / MPS_PER_KT
    drift_kt = assumptions.u_wind_drift_mps2 * TEN_MINUTES_S / MPS_PER_KT
    return AirPrior(
        middle_wander_kt=float(np.clip(wander_kt, *_WIND_KT)),
        drift_mps2=float(np.clip(drift_kt, *_WIND_KT)) * MPS_PER_KT / TEN_MINUTES_S,
    )


def group_budget(
    flight: FlightWind, group: int, steps: dict[str, float], assumptions: Assumptions
) -> tuple[Term, ...]:
    """Return every uncertainty term of the kappa of one group of a solved flight.

    Args:
        group: A run, manoeuvre or airspeed, from 0.
        steps: Smallest step of each logged quantity, SI; 0 if not rounded.

    Returns:
        In a fixed order.
    """
    gain = flight.gain[group]
    return (
        *_wind_terms(flight, group),
        *_rounding_terms(flight, gain, steps),
        *instrument_terms(flight.readings, gain, flight.slopes, assumptions),
    )


def _wind_terms(flight: FlightWind, group: int) -> tuple[Term, ...]:
    """Return what wind and gusts leave: a part of the group alone, and parts shared by the sortie.

    The degrees of freedom are those of all parts together: shared out so that the
    Welch-Satterthwaite formula gives them back.
    """
    own, shared = flight.parts
    scatter = float(np.median(flight.scatter_mps[flight.pieces.group == group])) / MPS_PER_KT
    variance = float(flight.covariance[group, group])
    each = "a leg" if np.all(flight.pieces.samples == 1) else "in half a minute"
    note = f"{scatter:.2f} kt {each}, wind wandering {flight.wander_kt:.1f} kt in ten minutes"
    parts: list[tuple[str, float, Owner, str]] = [
        ("leg scatter", float(own[group]), "point", note),
        *(
            (f"moving wind {number}", float(effect), "sortie", "shared by the runs of the flight")
            for number, effect in enumerate(shared[group], 1)
        ),
    ]
    return tuple(
        Term(
            name=name,
            u_kappa=effect,
            owner=owner,
            kind="A",
            degrees_of_freedom=float(flight.freedom[group]) * effect**2 / variance,
            note=words,
        )
        for name, effect, owner, words in parts
        if effect**2 > _LEAST_SHARE * variance
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


def _rounding_terms(flight: FlightWind, gain: Array, steps: dict[str, float]) -> tuple[Term, ...]:
    pieces, looked, slopes = flight.pieces, flight.looked, flight.slopes
    east, north = pieces.mean(pieces.east_mps), pieces.mean(pieces.north_mps)
    speed = np.maximum(np.hypot(east, north), 1e-3)
    along = (looked.direction[:, 0] * east + looked.direction[:, 1] * north) / speed
    across = looked.direction[:, 0] * north - looked.direction[:, 1] * east
    left = pieces_rounding(pieces, steps)
    airspeed = gain * slopes["airspeed"] * left["airspeed"]
    read_once = bool(np.all(pieces.samples == 1))
    logged = pieces.mean(pieces.readings.airspeed_mps)
    once = _by_number(airspeed, logged, steps.get("airspeed", 0.0))
    effects = {
        "ground speed rounding": _in_squares(gain * along * left["ground_speed"]),
        "track rounding": _in_squares(gain * across * left["track"]),
        "airspeed rounding": once if read_once else _in_squares(airspeed),
        "altitude rounding": float(gain @ (slopes["altitude"] * left["altitude"])),
        "temperature rounding": float(gain @ (slopes["temperature"] * left["temperature"])),
    }
    return tuple(
        Term(name=name, u_kappa=effect, owner="point", kind="B") for name, effect in effects.items()
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
