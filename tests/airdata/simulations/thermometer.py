"""What the check of a thermometer by the two heights is worth, on flights with known truth.

``python -m tests.airdata.simulations.thermometer [FLIGHTS]`` (300 for each line, seeds fixed).

Nothing here is of the estimator's kind. The air is put together from layers (well mixed,
inversion, above) whose humidity and warmth change along the way, and its pressure is summed
up metre by metre with another formula of gravity and of vapour. Isobars lean, wave and rise
unevenly. The altimeter errs by a share, a wave and hysteresis, and lags; the port by a
curved kappa; the thermometer lags, rounds and is heated; the satellites wave, jump when one
rises or sets, and come late. Instruments err as far as their budget supposes.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from fleetcal.airdata.heights_flown import HeightDoubts, HeightsFlown
from fleetcal.airdata.thermometer_check import (
    ThermometerCheck,
    check_thermometer,
    combined_offset,
)

Floats = npt.NDArray[np.float64]
FT, HOUR = 0.3048, 3600.0
U_FACTOR, U_HUMIDITY = 0.1, 0.7 / np.sqrt(12.0)
MIDDLE_HUMIDITY = 0.55


@dataclass(frozen=True, kw_only=True)
class Plan:
    """What is flown, and with which instruments.

    Attributes:
        tops_m, floor_m: Heights climbed to one after the other, and come down to between them.
        u_altimeter_m: Standard uncertainty of the altimeter.
        probe_sd_k: Standard deviation of thermometers about right ones.
        tails: Whether one in five thermometers is three times as far off.
    """

    tops_m: tuple[float, ...]
    floor_m: float = 400.0
    u_altimeter_m: float = 6.1
    probe_sd_k: float = 1.0
    tails: bool = False


PLANS = {
    "one climb to 1,500 m": Plan(tops_m=(1500.0,)),
    "one climb to 3,000 m": Plan(tops_m=(3000.0,)),
    "three climbs to 2,000 m": Plan(tops_m=(2000.0,) * 3),
    "six climbs to 2,500 m": Plan(tops_m=(2500.0,) * 6),
    "three to 3,000 m, altimeter of 20 m": Plan(tops_m=(3000.0,) * 3, u_altimeter_m=20.0),
    "three to 3,000 m, some probes 3 K off": Plan(tops_m=(3000.0,) * 3, tails=True),
}


@dataclass(frozen=True, kw_only=True)
class SimulatedHeights:
    """A recorded flight and the offset of its thermometer."""

    flown: HeightsFlown
    doubts: HeightDoubts
    offset_k: float


class _Air:
    """Air of one day: layers over a ground at sea level, summed up from their bottom."""

    def __init__(self, rng: np.random.Generator, latitude_deg: float) -> None:
        self.z = np.arange(-200.0, 6000.0, 5.0)
        ground, base = rng.uniform(5.0, 28.0), rng.uniform(700.0, 2200.0)
        jump, thick = rng.uniform(0.0, 4.0), rng.uniform(100.0, 400.0)
        knots = [-200.0, base, base + thick, 6000.0]
        mixed, above = rng.uniform(7.5e-3, 9.8e-3), rng.uniform(4.0e-3, 6.8e-3)
        top = ground - mixed * base
        self.celsius = np.interp(
            self.z,
            knots,
            [ground + 200.0 * mixed, top, top + jump, top + jump - above * (6000.0 - base)],
        )
        low, high = rng.uniform(0.2, 0.75), rng.uniform(0.1, 0.8)
        self.humidity = np.interp(
            self.z, knots, [low, min(low + rng.uniform(0.0, 0.3), 0.98), high, high]
        )
        square = np.sin(np.radians(latitude_deg)) ** 2
        gravity = 9.780327 * (1.0 + 0.0053024 * square) - 3.086e-6 * self.z
        vapour = self.humidity * 6.1121 * np.exp(17.502 * self.celsius / (240.97 + self.celsius))
        log = np.log(rng.uniform(995.0, 1030.0) + 24.0)
        logs = [log]
        for i in range(self.z.size - 1):  # Euler's steps, with the vapour at the pressure found
            mixing = 0.62198 * vapour[i] / (np.exp(log) - vapour[i])
            virtual = (self.celsius[i] + 273.15) * (1.0 + 0.608 * mixing / (1.0 + mixing))
            log -= gravity[i] / (287.06 * virtual) * 5.0
            logs.append(log)
        self.log_hpa = np.array(logs)

    def at(self, z: Floats) -> tuple[Floats, Floats]:
        """Temperature, degrees Celsius, and pressure, hPa."""
        return np.interp(z, self.z, self.celsius), np.exp(np.interp(z, self.z, self.log_hpa))


def _profile(rng: np.random.Generator, plan: Plan) -> tuple[Floats, Floats]:
    """Height in m and airspeed in m/s, a second apart: climbs, level cruises, descents."""
    height, speed = [plan.floor_m], [30.0]

    def go(to: float, rate: float, airspeed: float) -> None:
        while (to - height[-1]) * np.sign(rate) > 0.0:
            height.append(height[-1] + rate * rng.uniform(0.5, 1.5))
            speed.append(speed[-1] + 0.1 * (airspeed - speed[-1]) + rng.normal(0.0, 0.3))

    def stay(seconds: float, airspeed: float) -> None:
        for _ in range(int(seconds)):
            height.append(height[-1] + rng.normal(0.0, 0.3))
            speed.append(speed[-1] + 0.1 * (airspeed - speed[-1]) + rng.normal(0.0, 0.3))

    cruise = rng.uniform(45.0, 62.0)
    stay(200, cruise)
    for top in plan.tops_m:
        go(top + rng.uniform(-100.0, 100.0), rng.uniform(2.0, 4.5), rng.uniform(33.0, 40.0))
        stay(rng.uniform(200.0, 900.0), cruise)
        go(plan.floor_m + rng.uniform(-50.0, 150.0), -rng.uniform(2.0, 5.0), cruise)
        stay(rng.uniform(100.0, 400.0), cruise)
    return np.array(height), np.array(speed)


def _waves(rng: np.random.Generator, t: Floats, count: int, periods: Floats) -> Floats:
    total = np.zeros(t.size)
    for _ in range(count):
        period = np.exp(rng.uniform(*np.log(periods)))
        total += rng.normal() * np.sin(2.0 * np.pi * t / period + rng.uniform(0.0, 2.0 * np.pi))
    return total


def _late(values: Floats, seconds: float) -> Floats:
    """What an instrument of that time constant shows, a second apart."""
    shown = np.empty_like(values)
    shown[0] = values[0]
    share = 1.0 - np.exp(-1.0 / seconds)
    for i in range(1, values.size):
        shown[i] = shown[i - 1] + share * (values[i] - shown[i - 1])
    return shown


def _satellites(rng: np.random.Generator, z: Floats, t: Floats, way: Floats) -> Floats:
    """Height that a receiver shows: waves, jumps that fade, a leaning geoid, late."""
    error = 2.2 * _waves(rng, t, 3, np.array([150.0, 3000.0])) + rng.normal(0.0, 8.0)
    for _ in range(rng.poisson(t[-1] / 800.0)):
        begun, fades = rng.uniform(0.0, t[-1]), rng.uniform(100.0, 1500.0)
        error += np.where(
            t > begun, rng.normal(0.0, 4.0) * np.exp(-np.maximum(t - begun, 0.0) / fades), 0.0
        )
    error += rng.normal(0.0, 3e-5) * way + rng.normal(0.0, 0.5, t.size)
    late = np.interp(t - rng.uniform(0.1, 1.2), t, z)
    return np.round(late + error)


def _altimeter(rng: np.random.Generator, true: Floats, u: float) -> Floats:
    """Pressure altitude as shown, of its true one: share, wave and hysteresis make up u."""
    share = rng.uniform(-1.0, 1.0) * 1.4 * u * true / 2500.0
    wave = 0.6 * u * rng.normal() * np.sin(true / rng.uniform(150.0, 600.0) + rng.uniform(0, 6))
    rate = _late(np.gradient(true), 60.0)
    sticking = -rng.uniform(0.0, 0.4) * u * np.tanh(rate)
    shown = _late(true + share + wave + sticking + rng.normal(0.0, u), rng.uniform(0.2, 1.5))
    step = rng.choice([FT, 10.0 * FT, 1.0])
    return np.asarray(np.round(shown / step) * step)


def simulated_heights(rng: np.random.Generator, plan: Plan) -> SimulatedHeights:
    """Fly a plan through an air of its own."""
    latitude = rng.uniform(-55.0, 62.0)
    air = _Air(rng, latitude)
    z, speed = _profile(rng, plan)
    t = np.arange(z.size, dtype=np.float64)
    track = np.cumsum(_late(rng.normal(0.0, 0.02, t.size), 60.0)) + rng.uniform(0.0, 6.3)
    wind = rng.normal(0.0, 7.0, 2)
    sheared = 1.0 + rng.uniform(0.0, 1.0) * z / 2000.0
    east = 1.08 * speed * np.sin(track) + wind[0] * sheared
    north = 1.08 * speed * np.cos(track) + wind[1] * sheared
    x, y = np.cumsum(east), np.cumsum(north)
    # isobars lean as the wind asks for, wave by small weather, and rise unevenly
    turn = 1.458e-4 * np.sin(np.radians(latitude)) / 9.8
    lifted = turn * (np.cumsum(sheared * wind[1] * east) - np.cumsum(sheared * wind[0] * north))
    lifted += 1.5 * _waves(rng, x + 0.6 * y, 2, np.array([3e4, 1.5e5]))
    lifted += 5.0 * _waves(rng, t, 1, np.array([4.0, 12.0]) * HOUR)
    fresh = rng.normal(0.0, 1.0) * t / HOUR
    farther = rng.normal(0.0, 1.0) * x / 1e5
    warmer = fresh * np.exp(-z / 1500.0) + farther
    # warmer air below lifts the isobars above it
    lifted += (fresh * 1500.0 * (1.0 - np.exp(-z / 1500.0)) + farther * z) / 285.0
    celsius, hpa = air.at(z - lifted)
    altitude = 44330.77 * (1.0 - (hpa / 1013.25) ** 0.1902632)
    true_mps = speed * np.sqrt((celsius + 273.15) / 288.15 * 1013.25 / hpa)
    factor, assumed = _probes(rng)
    felt = celsius + warmer + 273.15 + factor * true_mps**2 / 2010.0
    offset = plan.probe_sd_k * rng.normal()
    if plan.tails and rng.uniform() < 0.2:
        offset *= 3.0
    sunned = 0.2 * rng.normal() * np.abs(_waves(rng, t, 1, np.array([600.0, 3000.0])))
    shown = _late(felt + offset + sunned, rng.uniform(3.0, 35.0)) - 273.15
    step = rng.choice([0.1, 0.5, 1.0])
    lift = (28.0 / speed) ** 2
    kappa = 0.05 * (rng.normal() + rng.normal() * (lift - 0.3) + rng.normal() * (lift - 0.3) ** 2)
    port = kappa * true_mps**2 / 19.6
    way = np.cumsum(np.hypot(east, north))
    flown = HeightsFlown(
        time_s=t,
        altitude_m=_altimeter(rng, altitude - port, plan.u_altimeter_m),
        geometric_m=_satellites(rng, z, t, way),
        temperature_k=np.round(shown / step) * step + 273.15,
        airspeed_mps=speed,
        east_mps=east,
        north_mps=north,
        relative_humidity=np.full(t.size, MIDDLE_HUMIDITY),
        recovery_factor=assumed,
        latitude_rad=float(np.radians(latitude)),
    )
    doubts = HeightDoubts(
        u_altitude_m=np.full(t.size, plan.u_altimeter_m),
        u_recovery_factor=U_FACTOR if assumed else 0.0,
        u_humidity=U_HUMIDITY,
        humidity_noted=False,
        altitude_step_m=FT,
        geometric_step_m=1.0,
    )
    return SimulatedHeights(flown=flown, doubts=doubts, offset_k=offset)


def _probes(rng: np.random.Generator) -> tuple[float, float]:
    """A probe's recovery factor and the one supposed: in one of two airframes none is felt."""
    if rng.uniform() < 0.5:
        return 0.0, 0.0
    return 0.8 + U_FACTOR * float(rng.normal()), 0.8


@dataclass(frozen=True, kw_only=True)
class Checked:
    """One check against its truth: by the heights alone, and with what is supposed of probes."""

    offset_k: float
    check: ThermometerCheck

    @property
    def error_k(self) -> float:
        """By the heights alone."""
        return self.check.offset_k - self.offset_k

    @property
    def left(self) -> tuple[float, float]:
        """What the correction leaves, and its standard uncertainty."""
        correction, u = combined_offset(self.check.offset_k, self.check.u_k, 1.0)
        return self.offset_k - correction, u


def checked_flights(plan: Plan, flights: int, seed: int) -> list[Checked]:
    """Simulate and check flights; those that tell nothing are left out."""
    found = []
    for number in range(flights):
        made = simulated_heights(np.random.default_rng([seed, number]), plan)
        check = check_thermometer(made.flown, made.doubts)
        if np.isfinite(check.u_k):
            found.append(Checked(offset_k=made.offset_k, check=check))
    return found


def share_inside(error: Floats, u: Floats) -> tuple[float, float]:
    """Share of 95 % intervals that hold the truth, and its Monte Carlo error."""
    inside = float(np.mean(np.abs(error) <= 1.96 * u))
    return inside, float(np.sqrt(max(inside * (1.0 - inside), 0.25 / error.size) / error.size))


HEADING = (
    f"{'':38s}    n   bias    rms  mean u  inside %      | left after it: rms  mean u  inside %"
)


def line_text(name: str, found: list[Checked]) -> str:
    """One line of the table."""
    error = np.array([one.error_k for one in found])
    u = np.array([one.check.u_k for one in found])
    left, u_left = np.array([one.left for one in found]).T
    inside, after = share_inside(error, u), share_inside(left, u_left)
    return (
        f"{name:38s} {error.size:4d} {error.mean():+6.2f} {np.sqrt(np.mean(error**2)):6.2f}"
        f"{u.mean():8.2f} {100 * inside[0]:7.1f} +- {100 * inside[1]:.1f}"
        f"  | {np.sqrt(np.mean(left**2)):18.2f}{u_left.mean():8.2f}"
        f"{100 * after[0]:8.1f} +- {100 * after[1]:.1f}"
    )


def main(flights: int) -> None:
    """Print the table."""
    print(f"Offset of a thermometer by the two heights, kelvin; {flights} flights a line")
    print(HEADING)
    for name, plan in PLANS.items():
        print(line_text(name, checked_flights(plan, flights, 41)), flush=True)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 300)
