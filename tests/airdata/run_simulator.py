"""Noisy flights of one run read once a leg, many times over, with all that the budget names.

All figures here are invented; the physics is that of `run_maker`, not of the room under test.
Made leg by leg, of means; whole flights of samples are simulated in `simulations.flights`.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np

from fleetcal.airdata.budget import Assumptions, air_prior, combine, group_budget
from fleetcal.airdata.flight_pieces import cut
from fleetcal.airdata.looked_pieces import READ_ONCE
from fleetcal.airdata.reading import Readings
from fleetcal.airdata.solve_pieces import solve_pieces
from tests.airdata.run_maker import components, evenly, true_airspeed_and_slope
from tests.airdata.solved_legs import leg_stretches

#: How much of the gust of a reading the aircraft has taken up; the pitot feels the rest.
CARRIED = 0.3


@dataclass(frozen=True, kw_only=True)
class Case:
    """One kind of run."""

    legs: int = 4
    airspeed_mps: float = 48.0
    altitude_m: float = 1200.0
    temperature_k: float = 281.0
    recovery_factor: float = 0.8
    kappa: float = 0.04
    wind_mps: float = 9.0
    spread_mps: float = 1.0
    hold_mps: float = 0.5
    gust_share: float = READ_ONCE
    wind_leg_mps: float = 0.1
    leg_every_s: float = 90.0
    heading_deg: tuple[float, ...] | None = None
    steps: dict[str, float] = field(default_factory=dict)
    assumptions: Assumptions = field(default_factory=Assumptions)

    @property
    def middle_s(self):
        """Time at the middle of each leg."""
        return self.leg_every_s * np.arange(self.legs)


@dataclass(frozen=True, kw_only=True)
class Flown:
    """Simulated flights of a case: arrays of shape (flights, legs)."""

    case: Case
    east_mps: np.ndarray
    north_mps: np.ndarray
    readings: Readings

    def reduced(self, row):
        """Error of kappa of one flight, its stated uncertainty and degrees of freedom."""
        case = self.case
        readings = {
            name: values[row] for name, values in vars(self.readings).items() if values.ndim == 2
        }
        stretches = leg_stretches(
            self.east_mps[row], self.north_mps[row], Readings(**readings), 0, case.middle_s
        )
        assumed = case.assumptions
        found = solve_pieces(cut(stretches), air_prior(assumed), assumed.u_ground_speed_mps)
        assert found.converged
        u, freedom = combine(group_budget(found, 0, case.steps, assumed))
        return float(found.kappa[0]) - case.kappa, u, freedom


def fly(case, flights, seed):
    """Simulate flights of a case: truth first, then what is logged of it."""
    generator = np.random.default_rng(seed)
    truth = _true_readings(case, flights, generator)
    size = case.gust_share * true_airspeed_and_slope(truth, case.kappa)[0]
    gust = size * generator.normal(0.0, 1.0, (2, flights, case.legs))
    east, north = _true_ground(case, truth, CARRIED * gust, generator)
    east, north = _logged_ground(case, east, north, generator)
    logged = _logged_readings(case, _gust_felt(case, truth, gust[0]), generator)
    return Flown(case=case, east_mps=east, north_mps=north, readings=logged)


def _true_readings(case, flights, generator):
    """Right readings: one speed, altitude and temperature a flight, airspeed held leg by leg."""
    a = case.assumptions
    shape = (flights, case.legs)
    one = (flights, 1)
    factor = case.recovery_factor
    if factor > 0.0:
        factor = factor + generator.normal(0.0, a.u_recovery_factor, one)
    return Readings(
        airspeed_mps=case.airspeed_mps
        + generator.uniform(-case.spread_mps, case.spread_mps, one)
        + generator.normal(0.0, case.hold_mps, shape),
        altitude_m=case.altitude_m + generator.uniform(-30.0, 30.0, one),
        temperature_k=case.temperature_k + generator.uniform(-2.0, 2.0, one),
        recovery_factor=np.broadcast_to(factor, one),
    )


def _gust_felt(case, truth, along):
    """Readings with what is left of a gust from behind, which lowers the airspeed."""

    def speed(airspeed_mps):
        return true_airspeed_and_slope(replace(truth, airspeed_mps=airspeed_mps), case.kappa)[0]

    indicated = truth.airspeed_mps
    per_indicated = (speed(indicated + 0.1) - speed(indicated - 0.1)) / 0.2
    return replace(truth, airspeed_mps=indicated - (1.0 - CARRIED) * along / per_indicated)


def _true_ground(case, truth, carried, generator):
    """Air vectors plus a wind that differs from leg to leg, and drifts, and the gusts taken up."""
    flights = len(truth.airspeed_mps)
    shape = (flights, case.legs)
    speed = true_airspeed_and_slope(truth, case.kappa)[0]
    turn = generator.uniform(0.0, 2.0 * np.pi, (flights, 1))
    heading = evenly(case.legs) if case.heading_deg is None else np.radians(case.heading_deg)
    along, across = components(1.0, heading + turn), components(1.0, heading + turn + np.pi / 2.0)
    east, north = (
        (speed + carried[0]) * ahead + carried[1] * aside
        for ahead, aside in zip(along, across, strict=True)
    )
    u, drift = case.wind_leg_mps, case.assumptions.u_wind_drift_mps2
    since = case.middle_s - case.middle_s.mean()
    wind = components(case.wind_mps, generator.uniform(0.0, 2.0 * np.pi, (flights, 1)))
    changing = [
        generator.normal(0.0, u, shape) + since * generator.normal(0.0, drift, (flights, 1))
        for _ in range(2)
    ]
    return east + wind[0] + changing[0], north + wind[1] + changing[1]


def _logged_ground(case, east, north, generator):
    """Error of the receiver, and rounding."""
    noise = case.assumptions.u_ground_speed_mps
    east = east + generator.normal(0.0, noise, east.shape)
    north = north + generator.normal(0.0, noise, north.shape)
    speed = _rounded(np.hypot(east, north), case.steps.get("ground_speed", 0.0))
    track = _rounded(np.arctan2(east, north), case.steps.get("track", 0.0))
    return components(speed, track)


def _logged_readings(case, truth, generator):
    """What is common to a sortie is drawn once a flight; then rounding."""
    a = case.assumptions
    one = (len(truth.airspeed_mps), 1)
    shape = truth.airspeed_mps.shape
    speed = truth.airspeed_mps + generator.normal(0.0, a.u_airspeed_mps, one)
    height = truth.altitude_m + generator.normal(0.0, a.u_altitude_m, one)
    warmth = truth.temperature_k + generator.normal(0.0, a.u_temperature_k, one)
    return Readings(
        airspeed_mps=_rounded(speed, case.steps.get("airspeed", 0.0)),
        altitude_m=np.broadcast_to(_rounded(height, case.steps.get("altitude", 0.0)), shape),
        temperature_k=np.broadcast_to(_rounded(warmth, case.steps.get("temperature", 0.0)), shape),
        recovery_factor=np.full(shape, case.recovery_factor),
    )


def _rounded(values, step):
    return np.round(values / step) * step if step > 0.0 else values
