"""Invented logs of sawtooth climbs and glides, the physics written out again."""

from __future__ import annotations

import numpy as np

from tests.cli.invented_sortie import FT, KT, impact_pa, pressure_pa

SCALING_KT, REFERENCE_KG = 45.0, 600.0
#: y = s R/V: a parabolic polar, and thrust that falls with the square of airspeed.
GLIDE = (-0.0085, 0.0, -0.10)
CLIMB = (-0.038, 0.262, -0.126)
HEADING = (
    "UTC date,UTC time,IAS (kt),pressure altitude (ft),OAT (degC),ground speed (kt),"
    "track (deg true)\n"
)


def best_cas_kt(law: tuple[float, float, float], power: float) -> float:
    s = np.linspace(0.08, 0.8, 400_001)
    y = law[0] + law[1] * s + law[2] * s**2
    return float(SCALING_KT / np.sqrt(s[np.argmax(y / s**power)]))


def rate_mps(law, cas_kt, tas_mps, weight_kg, more=0.0):
    s = (SCALING_KT / cas_kt) ** 2 * weight_kg / REFERENCE_KG
    return (law[0] + more + law[1] * s + law[2] * s**2) / s * tas_mps


def fly_back(add, speeds_kt, heights_ft, courses_deg):
    """Turn, go back to where the block begins, and settle at the next airspeed."""
    (slow, wanted), (height, begin), (heading, course) = speeds_kt, heights_ft, courses_deg
    for k in range(60):
        add(slow, height, heading + (course - heading) * k / 60.0)
    back = max(int(abs(begin - height) / 25.0), 2)
    for k in range(back):
        add(slow, height + (begin - height) * k / back, course)
    for k in range(25):
        add(slow + (wanted - slow) * k / 25.0, begin, course)
    for _ in range(20):
        add(wanted, begin, course)


def fly_box(add, speed_kt, wanted_kt, height_ft, heading_deg):
    """Go to 4,000 ft and another airspeed, and fly four level legs there."""
    for k in range(60):
        share = k / 60.0
        height = height_ft + (4000.0 - height_ft) * share
        add(speed_kt + (wanted_kt - speed_kt) * share, height, heading_deg)
    for leg in range(4):
        course = heading_deg + 90.0 * leg
        for k in range(60):  # nobody holds a track so well that it looks frozen
            add(wanted_kt, 4000.0, course + 0.4 * np.sin(0.3 * k))
        for k in range(30):
            add(wanted_kt, 4000.0, course + 3.0 * k)


def log_text(law, *, speeds_kt=(52.0, 58.0, 66.0, 76.0, 88.0, 100.0), weight_kg=600.0,
             more=0.0, warmer_k=8.0, shear_per_s=0.004, seed=1, both=True, box_kt=(),
             air_ftmin=0.0):  # fmt: skip
    """Fly a law both ways through 3,500 to 4,500 ft with a port that has no error, once a second.

    Below and above the block the altitude is flown back to at a steep rate. At the end a
    box of four level legs is flown at each speed of `box_kt`. Along each climb the air rises
    or sinks at a rate drawn with standard deviation `air_ftmin`.
    """
    rng = np.random.default_rng(seed)
    up = law is CLIMB
    begin, end = (3500.0, 4500.0) if up else (4500.0, 3500.0)
    height, heading, speed, rows = begin, 90.0, speeds_kt[0], []

    def add(ias_kt, altitude_ft, course):
        ps = float(pressure_pa(np.asarray(altitude_ft * FT)))
        mach = np.sqrt(
            5.0 * ((float(impact_pa(np.asarray(ias_kt * KT))) / ps + 1.0) ** (1 / 3.5) - 1.0)
        )
        warm = 288.15 - 0.0065 * altitude_ft * FT + warmer_k
        tas = mach * np.sqrt(1.4 * 287.05287 * warm)
        wind_east = -shear_per_s * (altitude_ft - 4000.0) * FT
        east = tas * np.sin(np.radians(course)) + wind_east
        north = tas * np.cos(np.radians(course)) + 4.0
        ground_kt = np.hypot(east, north) / KT
        track = np.degrees(np.arctan2(east, north)) % 360.0
        shown = ias_kt + rng.normal(0.0, 0.2)
        rows.append((shown, altitude_ft, warm - 273.15, ground_kt, track))
        return tas, warm

    add(speed, height, heading)
    for wanted in speeds_kt:
        for course in (90.0, 270.0) if both else (90.0,):
            fly_back(add, (speed, wanted), (height, begin), (heading, course))
            speed, height, heading = wanted, begin, course
            air_mps = float(rng.normal(0.0, air_ftmin)) * FT / 60.0 if air_ftmin else 0.0
            while (height < end) if up else (height > end):
                tas, warm = add(speed, height, heading)
                rate = rate_mps(law, speed, tas, weight_kg, more)
                # at constant CAS true airspeed grows with height, and so does a headwind
                into = 1.0 if heading == 90.0 else -1.0
                grow = (
                    tas / 2.0 * 9.80665 / (287.05287 * warm) * 0.81
                )  # density less temperature, in standard lapse
                rate /= 1.0 + tas / 9.80665 * (grow - into * shear_per_s)
                # less pressure altitude than real height in warm air
                height += (rate + air_mps) * (warm - warmer_k) / warm / FT
            for _ in range(20):
                add(speed, height, heading)
    for wanted in box_kt:
        fly_box(add, speed, wanted, height, heading)
        speed, height = wanted, 4000.0
    lines = [
        f"2024-05-02,{10 + i // 3600:02d}:{i // 60 % 60:02d}:{i % 60:02d},"
        f"{a:.1f},{b:.0f},{c:.1f},{d:.1f},{e:.1f}\n"
        for i, (a, b, c, d, e) in enumerate(rows)
    ]
    return HEADING + "".join(lines)
