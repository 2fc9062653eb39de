"""Invented flights with known legs, flown by integrating heading, speed and height."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from seed_demo.gusts import GUST_MEMORY_S, carried_along, remembering

KT = 1852.0 / 3600.0
FT = 0.3048
DEG = np.pi / 180.0


@dataclass(kw_only=True)
class Flight:
    """A flight at a fixed rate, its truth beside it; angles in rad, the rest in SI."""

    t: np.ndarray
    airspeed: np.ndarray
    altitude: np.ndarray
    track: np.ndarray
    ground_speed: np.ndarray
    roll: np.ndarray
    segment: np.ndarray
    legs: list[int] = field(default_factory=list)

    def logged(self, speed_kt=0.1, altitude_ft=1.0, track_deg=0.1):
        """Round to a recorder's steps."""

        def step(values, size):
            return np.round(values / size) * size

        return (
            self.t,
            step(self.airspeed, speed_kt * KT),
            step(self.altitude, altitude_ft * FT),
            step(self.track, track_deg * DEG),
            step(self.ground_speed, speed_kt * KT),
        )


def correlated(rng, count, step_s, deviation, memory_s):
    """Noise that forgets within some seconds, started in its steady state."""
    keep = np.exp(-step_s / memory_s)
    noise = np.empty(count)
    noise[0] = rng.normal(0.0, deviation)
    kicks = rng.normal(0.0, deviation * np.sqrt(1.0 - keep**2), count)
    for i in range(1, count):
        noise[i] = keep * noise[i - 1] + kicks[i]
    return noise


def fly(manoeuvres, rate_hz=1.0, wind_kt=(12.0, -8.0), seed=1, rough=1.0):
    """Fly manoeuvres one after the other.

    Each is (name, seconds, speed change in kt, climb in ft, turn in deg); those
    named 'leg' are the ones that a pilot would call a leg.
    """
    rng = np.random.default_rng(seed)
    dt = 1.0 / rate_hz
    speed, height, heading = 90.0, 4000.0, 0.0
    rows = []
    for number, (_, seconds, more_kt, climb_ft, turn_deg) in enumerate(manoeuvres):
        count = max(1, round(seconds * rate_hz))
        for _ in range(count):
            speed += more_kt / count
            height += climb_ft / count
            heading += turn_deg / count
            bank = np.arctan(speed * KT * (turn_deg / seconds) * DEG / 9.80665)
            rows.append((speed, height, heading, bank, number))
    speed, height, heading, bank, segment = np.array(rows).T
    count = speed.size
    gust = remembering(rng, (2, count), 0.6 * rough, GUST_MEMORY_S, dt)
    carried = carried_along(gust, dt)
    hold = correlated(rng, count, dt, 0.8 * rough, 25.0)
    wander = correlated(rng, count, dt, 1.0 * rough, 20.0)
    course = (heading + wander) * DEG
    held = (speed + hold) * np.stack([np.sin(course), np.cos(course)])
    east, north = held + np.array(wind_kt)[:, None] + carried
    return Flight(
        t=np.arange(count) * dt,
        airspeed=np.hypot(*(held + carried - gust)) * KT,
        altitude=(height + correlated(rng, count, dt, 15.0 * rough, 20.0)) * FT,
        track=np.mod(np.arctan2(east, north), 2 * np.pi),
        ground_speed=np.hypot(east, north) * KT,
        roll=bank,
        segment=segment.astype(int),
        legs=[i for i, m in enumerate(manoeuvres) if m[0] == "leg"],
    )


def box(speeds_kt=(90.0,), legs=4, seconds=70.0):
    """Boxes of straight legs with standard-rate turns, one box a speed, the first at 90 kt."""
    plan = []
    last = 90.0
    for speed in speeds_kt:
        if speed != last:
            plan.append(("speed change", 30.0, speed - last, 0.0, 0.0))
            last = speed
        for _ in range(legs):
            plan.append(("leg", seconds, 0.0, 0.0, 0.0))
            plan.append(("turn", 360.0 / legs / 3.0, 0.0, 0.0, 360.0 / legs))
    return plan
