"""Invented sawtooth flights: rates known, wind that changes with height, recorder's steps."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from seed_demo.gusts import GUST_MEMORY_S, carried_along, remembering

KT = 1852.0 / 3600.0
FT = 0.3048
FTMIN = FT / 60.0
GRAVITY = 9.80665


@dataclass(kw_only=True)
class Sawtooth:
    """Logged channels in SI, and the number of the manoeuvre of each sample."""

    t: np.ndarray
    airspeed: np.ndarray
    altitude: np.ndarray
    track: np.ndarray
    ground_speed: np.ndarray
    segment: np.ndarray
    names: list[str]

    @property
    def flown(self):
        return [i for i, name in enumerate(self.names) if name in ("climb", "glide")]


def correlated(rng, count, deviation, memory_s):
    keep = np.exp(-1.0 / memory_s)
    noise = np.empty(count)
    noise[0] = rng.normal(0.0, deviation)
    kicks = rng.normal(0.0, deviation * np.sqrt(1.0 - keep**2), count)
    for i in range(1, count):
        noise[i] = keep * noise[i - 1] + kicks[i]
    return noise


def sawtooth(speeds_kt, rate_ftmin, wind_across_kt=10.0, shear_kt_per_1000ft=0.0, both_ways=True,
             block_ft=(3500.0, 4500.0), rough=1.0, seed=1):  # fmt: skip
    """Climbs or glides at each speed through a block, heading 090 and 270, wind from the south.

    `rate_ftmin(speed_kt)` is the rate without shear; with a headwind that grows with height the
    rate towards it is higher by V/g dW/dh times itself. 1 Hz, TAS = IAS for simplicity.
    """
    rng = np.random.default_rng(seed)
    rows: list[tuple[float, ...]] = []
    names: list[str] = []
    speed, height, heading = float(speeds_kt[0]), 3000.0, 90.0

    def fly(name, seconds, more_kt, feet, turn):
        nonlocal speed, height, heading
        seconds = max(2, round(seconds))
        for _ in range(seconds):
            speed += more_kt / seconds
            height += feet / seconds
            heading += turn / seconds
            rows.append((speed, height, heading, len(names)))
        names.append(name)

    for wanted in speeds_kt:
        for heading_wanted in (90.0, 270.0) if both_ways else (90.0,):
            rate = rate_ftmin(wanted)
            shear = shear_kt_per_1000ft * KT / (1000.0 * FT)
            into = 1.0 if heading_wanted == 90.0 else -1.0
            rate /= 1.0 - into * wanted * KT * shear / GRAVITY
            begin = block_ft[0] if rate > 0 else block_ft[1]
            fly("turn", 60.0, 0.0, 0.0, heading_wanted - heading)
            fly("to begin", max(60.0, abs(begin - height) / 14.0), 0.0, begin - height, 0.0)
            fly("speed change", 25.0, wanted - speed, 0.0, 0.0)
            fly("level", 25.0, 0.0, 0.0, 0.0)
            gain = block_ft[1] - block_ft[0]
            fly("climb" if rate > 0 else "glide", gain / abs(rate) * 60.0, 0.0,
                gain if rate > 0 else -gain, 0.0)  # fmt: skip
            fly("level", 30.0, 0.0, 0.0, 0.0)
    speed, height, heading, segment = np.array(rows).T
    count = len(speed)
    gust = remembering(rng, (2, count), 0.5 * rough, GUST_MEMORY_S, 1.0)
    carried = carried_along(gust, 1.0)
    held = speed + correlated(rng, count, 0.7 * rough, 12.0)
    along = np.stack([np.sin(np.deg2rad(heading)), np.cos(np.deg2rad(heading))])
    air = np.hypot(*(held * along + carried - gust))
    headwind = shear_kt_per_1000ft * (height - 4000.0) / 1000.0  # from the east
    east, north = held * along + np.stack([-headwind, np.full(count, wind_across_kt)]) + carried
    height = height + correlated(rng, count, 8.0 * rough, 15.0)
    return Sawtooth(
        t=np.arange(count, dtype=float),
        airspeed=np.round(air, 1) * KT,
        altitude=np.round(height) * FT,
        track=np.mod(np.arctan2(east, north), 2.0 * np.pi),
        ground_speed=np.hypot(east, north) * KT,
        segment=segment.astype(int),
        names=names,
    )
