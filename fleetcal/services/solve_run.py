"""From the legs of one run to a calibration point with its budget."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.airdata.budget import (
    Assumptions,
    LegData,
    Term,
    combine,
    run_budget,
    supposed_leg_scatter,
)
from fleetcal.airdata.ground_vectors import bearing_from, largest_track_gap
from fleetcal.airdata.leg_solution import LegSolution, solve_legs
from fleetcal.airdata.position_error import corrections
from fleetcal.airdata.reading import Readings, true_airspeed_for
from fleetcal.airdata.run_quality import RunFigures, airspeed_dilution, refusal
from fleetcal.airdata.sample_noise import estimate_noise
from fleetcal.units import MPS_PER_KT, from_si, normal_bearing_deg

#: Spare legs that disagree by more than this many times what was supposed make a
#: point that is kept but not accepted.
LARGEST_DISAGREEMENT: Final = 4.0
_READ_ONCE_SCATTER: Final = 0.008  # of airspeed: one reading by eye in place of a mean


@dataclass(frozen=True)
class FlownLeg:
    """One leg in SI units.

    Attributes
    ----------
    start_s, stop_s : float or None
        From the first sample of the log; None when written by hand without time.
    time_s, airspeed_mps, altitude_m, temperature_k, east_mps, north_mps : ndarray, shape (samples,)
        Time, readings and ground vectors; one sample for a leg written by hand.
    recovery_factor : float
    """

    start_s: float | None
    stop_s: float | None
    time_s: Array
    airspeed_mps: Array
    altitude_m: Array
    temperature_k: Array
    east_mps: Array
    north_mps: Array
    recovery_factor: float

    @property
    def samples(self) -> int:
        """Number of samples."""
        return len(self.airspeed_mps)

    @property
    def track_rad(self) -> float:
        """Direction of the mean ground vector, rad from north."""
        return float(np.arctan2(np.nanmean(self.east_mps), np.nanmean(self.north_mps)))


@dataclass(frozen=True)
class LegLine:
    """One leg as it is listed and stored, in the trade's units."""

    run: int
    leg: int
    start_s: float | None
    stop_s: float | None
    samples: int
    vic_kt: float
    pressure_altitude_ft: float
    oat_degc: float
    ground_speed_kt: float
    track_deg: float
    ground_east_kt: float
    ground_north_kt: float
    tas_kt: float
    residual_kt: float
    u_kt: float


@dataclass(frozen=True)
class RunLine:
    """One solved run, or manoeuvre, as it is listed and stored, in the trade's units.

    `u_x` is a standard uncertainty; `leg_count` None for a manoeuvre. A run that
    must not count says why in `reason` and has `accepted` False.
    """

    run: int
    vic_kt: float
    pressure_altitude_ft: float
    oat_degc: float
    tas_kt: float
    tas_scale: float
    kappa: float
    u_kappa: float
    dvpc_kt: float
    u_dvpc_kt: float
    dhpc_ft: float
    u_dhpc_ft: float
    wind_speed_kt: float
    wind_from_deg: float
    leg_count: int | None
    largest_gap_deg: float
    residual_kt: float
    duration_s: float
    degrees_of_freedom: float
    accepted: bool
    reason: str
    terms: tuple[Term, ...]
    load_factor: float = 1.0


@dataclass(frozen=True)
class SolvedRun:
    """A run with its legs; `line` is None when it was refused for `reason`."""

    legs: tuple[LegLine, ...]
    line: RunLine | None
    reason: str


def solve_run(
    number: int, legs: Sequence[FlownLeg], steps: dict[str, float], assumptions: Assumptions
) -> SolvedRun:
    """Solve one run.

    Parameters
    ----------
    number : int
        Of the run within the flight.
    legs : sequence of FlownLeg
        In the order flown.
    steps : dict of str to float
        Smallest step of each logged quantity, SI.
    assumptions : Assumptions

    Returns
    -------
    SolvedRun

    Raises
    ------
    OutOfRangeError
        If a reading is outside the range of the pitot-static relations.
    """
    means = _means(legs)
    solution = solve_legs(means.east_mps[None], means.north_mps[None], _as_rows(means.readings))
    figures = _figures(legs, means, solution)
    reason = refusal(figures)
    if reason:
        return SolvedRun(_leg_lines(number, legs, means, None, None), None, reason)
    data = _leg_data(legs, means, solution, steps)
    terms = run_budget(data, solution, 0, assumptions)
    line = _run_line(number, legs, data, solution, figures, terms, assumptions)
    return SolvedRun(_leg_lines(number, legs, means, solution, data.u_mean_mps), line, line.reason)


@dataclass(frozen=True)
class _Means:
    east_mps: Array
    north_mps: Array
    readings: Readings


def _means(legs: Sequence[FlownLeg]) -> _Means:
    def mean(name: str) -> Array:
        return np.array([float(np.nanmean(getattr(leg, name))) for leg in legs])

    readings = Readings(
        mean("airspeed_mps"),
        mean("altitude_m"),
        mean("temperature_k"),
        np.array([leg.recovery_factor for leg in legs]),
    )
    return _Means(mean("east_mps"), mean("north_mps"), readings)


def _as_rows(readings: Readings) -> Readings:
    return Readings(
        readings.airspeed_mps[None],
        readings.altitude_m[None],
        readings.temperature_k[None],
        readings.recovery_factor[None],
    )


def _figures(legs: Sequence[FlownLeg], means: _Means, solution: LegSolution) -> RunFigures:
    static, impact = means.readings.pressures()
    _, slope = true_airspeed_for(
        static,
        impact,
        means.readings.temperature_k,
        means.readings.recovery_factor,
        solution.kappa[:1],
    )
    return RunFigures(
        len(legs),
        largest_track_gap(np.arctan2(means.east_mps, means.north_mps)),
        airspeed_dilution(solution.gain[0, 2], float(np.mean(slope))),
        float(solution.kappa[0]),
        float(np.hypot(solution.wind_east_mps[0], solution.wind_north_mps[0])),
        float(solution.true_airspeed_mps[0].mean()),
        bool(solution.converged[0]),
    )


def _leg_data(
    legs: Sequence[FlownLeg], means: _Means, solution: LegSolution, steps: dict[str, float]
) -> LegData:
    residuals = [_residual_series(leg, solution) for leg in legs]
    interval = _interval(legs)
    noise = estimate_noise([r for r in residuals if len(r) > 1], interval)
    read_once = _READ_ONCE_SCATTER * float(solution.true_airspeed_mps[0].mean())
    middle = [
        (leg.start_s + leg.stop_s) / 2.0
        if leg.start_s is not None and leg.stop_s is not None
        else 90.0 * i  # unknown times: a leg every minute and a half
        for i, leg in enumerate(legs)
    ]
    return LegData(
        means.east_mps,
        means.north_mps,
        means.readings,
        np.array(middle),
        np.array(
            [
                noise.mean_uncertainty(_lasting(leg, interval)) if leg.samples > 1 else read_once
                for leg in legs
            ]
        ),
        _movement(legs),
        steps,
    )


def _interval(legs: Sequence[FlownLeg]) -> float:
    """Return the usual time between two samples, s."""
    steps = [np.diff(leg.time_s) for leg in legs if leg.samples > 1]
    return float(np.median(np.concatenate(steps))) if steps else 1.0


def _lasting(leg: FlownLeg, interval_s: float) -> float:
    return float(leg.time_s[-1] - leg.time_s[0]) + interval_s


def _residual_series(leg: FlownLeg, solution: LegSolution) -> Array:
    readings = Readings(
        leg.airspeed_mps, leg.altitude_m, leg.temperature_k, np.asarray(leg.recovery_factor)
    )
    static, impact = readings.pressures()
    speed, _ = true_airspeed_for(
        static, impact, leg.temperature_k, readings.recovery_factor, solution.kappa[:1]
    )
    length = np.hypot(
        leg.east_mps - solution.wind_east_mps[0], leg.north_mps - solution.wind_north_mps[0]
    )
    return np.asarray(length - speed)


def _movement(legs: Sequence[FlownLeg]) -> dict[str, float]:
    def spread(values: Sequence[Array]) -> float:
        return float(np.sqrt(np.mean([np.nanvar(v) for v in values])))

    ground = [np.hypot(leg.east_mps, leg.north_mps) for leg in legs]
    turned = [
        np.angle(np.exp(1j * (np.arctan2(leg.east_mps, leg.north_mps) - leg.track_rad)))
        for leg in legs
    ]
    return {
        "airspeed": spread([leg.airspeed_mps for leg in legs]),
        "altitude": spread([leg.altitude_m for leg in legs]),
        "temperature": spread([leg.temperature_k for leg in legs]),
        "ground_speed": spread(ground),
        "track": spread(turned),
    }


def _leg_lines(
    number: int,
    legs: Sequence[FlownLeg],
    means: _Means,
    solution: LegSolution | None,
    u_mean_mps: Array | None,
) -> tuple[LegLine, ...]:
    lines = []
    for i, leg in enumerate(legs):
        tas = np.nan if solution is None else float(solution.true_airspeed_mps[0, i])
        residual = np.nan if solution is None else float(solution.residual_mps[0, i])
        u = np.nan if u_mean_mps is None else float(u_mean_mps[i])
        lines.append(
            LegLine(
                number,
                i + 1,
                leg.start_s,
                leg.stop_s,
                leg.samples,
                from_si(float(means.readings.airspeed_mps[i]), "kt"),
                from_si(float(means.readings.altitude_m[i]), "ft"),
                from_si(float(means.readings.temperature_k[i]), "degC"),
                from_si(float(np.hypot(means.east_mps[i], means.north_mps[i])), "kt"),
                normal_bearing_deg(leg.track_rad),
                from_si(float(means.east_mps[i]), "kt"),
                from_si(float(means.north_mps[i]), "kt"),
                from_si(tas, "kt"),
                from_si(residual, "kt"),
                from_si(u, "kt"),
            )
        )
    return tuple(lines)


def _run_line(
    number: int,
    legs: Sequence[FlownLeg],
    data: LegData,
    solution: LegSolution,
    figures: RunFigures,
    terms: tuple[Term, ...],
    assumptions: Assumptions,
) -> RunLine:
    u_kappa, freedom = combine(terms)
    vic = float(data.readings.airspeed_mps.mean())
    altitude = float(data.readings.altitude_m.mean())
    moved = corrections(vic, altitude, figures.kappa)
    spare = len(legs) - 3
    squares = float(np.sum(solution.residual_mps[0] ** 2))
    residual = float(np.sqrt(squares / spare)) if spare > 0 else 0.0
    supposed = supposed_leg_scatter(data, assumptions)
    disagree = residual > LARGEST_DISAGREEMENT * supposed
    reason = (
        f"spare legs disagree by {residual / MPS_PER_KT:.1f} kt where "
        f"{supposed / MPS_PER_KT:.1f} kt is to be expected: the wind changed, or a leg is bad"
        if disagree
        else ""
    )
    wind_from = bearing_from(float(solution.wind_east_mps[0]), float(solution.wind_north_mps[0]))
    static, impact = data.readings.pressures()
    uncorrected, _ = true_airspeed_for(
        static,
        impact,
        data.readings.temperature_k,
        data.readings.recovery_factor,
        np.zeros(1),
    )
    starts = [leg.start_s for leg in legs if leg.start_s is not None]
    stops = [leg.stop_s for leg in legs if leg.stop_s is not None]
    return RunLine(
        run=number,
        vic_kt=from_si(vic, "kt"),
        pressure_altitude_ft=from_si(altitude, "ft"),
        oat_degc=from_si(float(data.readings.temperature_k.mean()), "degC"),
        tas_kt=from_si(figures.true_airspeed_mps, "kt"),
        tas_scale=float(np.mean(solution.true_airspeed_mps[0] / uncorrected)),
        kappa=figures.kappa,
        u_kappa=u_kappa,
        dvpc_kt=from_si(float(moved.airspeed_mps), "kt"),
        u_dvpc_kt=from_si(u_kappa * abs(float(moved.airspeed_per_kappa_mps)), "kt"),
        dhpc_ft=from_si(float(moved.altitude_m), "ft"),
        u_dhpc_ft=from_si(u_kappa * abs(float(moved.altitude_per_kappa_m)), "ft"),
        wind_speed_kt=from_si(figures.wind_mps, "kt"),
        wind_from_deg=normal_bearing_deg(wind_from),
        leg_count=len(legs),
        largest_gap_deg=float(np.degrees(figures.largest_gap_rad)),
        residual_kt=from_si(residual, "kt"),
        duration_s=max(stops) - min(starts) if starts and stops else 0.0,
        degrees_of_freedom=freedom,
        accepted=not disagree,
        reason=reason,
        terms=terms,
    )
