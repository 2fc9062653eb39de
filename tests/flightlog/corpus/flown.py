"""Two simulated flights, every quantity that a recorder may log beside each other.

The relations are written out here again, so that a slip in the package shows.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from seed_demo.gusts import GUST_MEMORY_S, carried_along, remembering

KT = 1852.0 / 3600.0
FT = 0.3048
KAPPA = 0.04
WIND_KT = (13.0, -7.0)
RECOVERY = 0.8
HUMIDITY = 0.55  # of saturation, the middle of what is supposed where nobody noted it
MIDNIGHT_S = 86400.0


@dataclass(frozen=True, kw_only=True)
class Flown:
    """What is logged, in the trade's units; arrays of one length.

    `second` counts from the start of the first day.
    """

    second: np.ndarray
    ias_kt: np.ndarray
    tas_kt: np.ndarray
    altitude_ft: np.ndarray
    indicated_ft: np.ndarray
    static_hpa: np.ndarray
    impact_hpa: np.ndarray
    oat_degc: np.ndarray
    gs_kt: np.ndarray
    track_deg: np.ndarray
    heading_deg: np.ndarray
    latitude_deg: np.ndarray
    longitude_deg: np.ndarray
    gps_altitude_m: np.ndarray
    fuel_lph: np.ndarray
    leg: np.ndarray

    def rows(self, chosen: np.ndarray | slice) -> Flown:
        """Return some rows."""
        return replace(self, **{name: values[chosen] for name, values in vars(self).items()})


def _wander(rng: np.random.Generator, count: int, deviation: float, memory: float) -> np.ndarray:
    keep = np.exp(-1.0 / memory)
    values = np.empty(count)
    values[0] = rng.normal(0.0, deviation)
    kicks = rng.normal(0.0, deviation * np.sqrt(1.0 - keep**2), count)
    for i in range(1, count):
        values[i] = keep * values[i - 1] + kicks[i]
    return values


def _card(rng: np.random.Generator, rate_hz: float) -> tuple[np.ndarray, ...]:
    """Airspeed, altitude, heading and number of the leg (-1 between legs), sample by sample."""
    plan = [(90, 60.0, 800.0, 0.0, -1), (60, 90.0, 3000.0, 0.0, -1)]
    leg = 0
    for speed in (90.0, 120.0):
        plan.append((40, speed, 0.0, 0.0, -1))
        for _ in range(4):
            plan.append((70, speed, 0.0, 0.0, leg))
            plan.append((30, speed, 0.0, 90.0, -1))
            leg += 1
    plan.append((120, 80.0, -2500.0, 60.0, -1))
    speeds, altitude, heading, legs = [40.0], [500.0], [25.0], [-1]
    for seconds, target, climb, turn, number in plan:
        count = round(seconds * rate_hz)
        speeds += list(np.linspace(speeds[-1], target, count))
        altitude += list(altitude[-1] + climb * np.arange(1, count + 1) / count)
        heading += list(heading[-1] + turn * np.arange(1, count + 1) / count)
        legs += [number] * count
    size = len(speeds)
    return (
        np.array(speeds) + _wander(rng, size, 0.15, 20.0 * rate_hz),
        np.array(altitude) + _wander(rng, size, 4.0, 20.0 * rate_hz),
        np.array(heading),
        np.array(legs),
    )


def _positions(
    east_m: np.ndarray, north_m: np.ndarray, height_m: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Sum up the way on the WGS-84 ellipsoid, degrees."""
    axis, flat = 6378137.0, 1.0 / 298.257223563
    e2 = flat * (2.0 - flat)
    latitude, longitude = np.empty(east_m.size), np.empty(east_m.size)
    phi, lam = np.radians(47.0), np.radians(11.0)
    for i in range(east_m.size):
        latitude[i], longitude[i] = phi, lam
        w = 1.0 - e2 * np.sin(phi) ** 2
        phi += north_m[i] / (axis * (1.0 - e2) / w**1.5 + height_m[i])
        lam += east_m[i] / ((axis / np.sqrt(w) + height_m[i]) * np.cos(phi))
    return np.degrees(latitude), np.degrees(longitude)


def fly(seed: int, start_s: float, rate_hz: float = 1.0) -> Flown:
    """Fly two boxes in nearly smooth air; the start is in seconds of the first day."""
    rng = np.random.default_rng(seed)
    ias, altitude, heading, leg = _card(rng, rate_hz)
    impact = 101325.0 * ((1.0 + 0.2 * (ias * KT / 340.294) ** 2) ** 3.5 - 1.0)
    at_port = 101325.0 * (1.0 - 0.0065 * altitude * FT / 288.15) ** 5.2558797
    static = at_port - KAPPA * impact
    mach = np.sqrt(5.0 * (((at_port + impact) / static) ** (1.0 / 3.5) - 1.0))
    ambient = 288.15 + 7.0 - 0.0065 * altitude * FT
    # dry air as light as this moist air, by the densities of both gases (saturation: Buck 1981)
    vapour = HUMIDITY * 611.21 * np.exp(17.502 * (ambient - 273.15) / (ambient - 32.18))
    light = ambient / (1.0 - (1.0 - 287.05287 / 461.52) * vapour / static)
    tas = mach * np.sqrt(1.4 * 287.05287 * light) / KT
    course = np.radians(heading)
    gusts = remembering(rng, (2, ias.size), 0.1, GUST_MEMORY_S, 1.0 / rate_hz)
    carried = carried_along(gusts, 1.0 / rate_hz)
    held = tas * np.stack([np.sin(course), np.cos(course)])
    east, north = held + carried + np.array(WIND_KT)[:, None]
    # what the pitot feels of the gusts
    mach = np.hypot(*(held + carried - gusts)) * KT / np.sqrt(1.4 * 287.05287 * ambient)
    impact = static * ((1.0 + 0.2 * mach**2) ** 3.5 - 1.0) / (1.0 + KAPPA)
    at_port = static + KAPPA * impact
    ias = 340.294 * np.sqrt(5.0 * ((1.0 + impact / 101325.0) ** (1.0 / 3.5) - 1.0)) / KT
    altitude = (1.0 - (at_port / 101325.0) ** (1.0 / 5.2558797)) * 288.15 / 0.0065 / FT
    latitude, longitude = _positions(east * KT / rate_hz, north * KT / rate_hz, altitude * FT)
    setting_shift = 288.15 / 0.0065 * (1.0 - (1003.0 / 1013.25) ** (1.0 / 5.2558797))
    return Flown(
        second=start_s + np.arange(ias.size) / rate_hz,
        ias_kt=ias,
        tas_kt=computed_tas_kt(impact, at_port, ambient),
        altitude_ft=altitude,
        indicated_ft=altitude - setting_shift / FT,
        static_hpa=at_port / 100.0,
        impact_hpa=impact / 100.0,
        oat_degc=ambient * (1.0 + 0.2 * RECOVERY * mach**2) - 273.15,
        gs_kt=np.hypot(east, north),
        track_deg=np.degrees(np.arctan2(east, north)) % 360.0,
        heading_deg=heading % 360.0,
        latitude_deg=latitude,
        longitude_deg=longitude,
        gps_altitude_m=_height_m(static, light) + 60.0,
        fuel_lph=18.0 + 0.02 * ias,
        leg=leg,
    )


def _height_m(static_pa: np.ndarray, light_k: np.ndarray) -> np.ndarray:
    """Height above 1013.25 hPa of air of these pressures, as thick as it is light; geometric."""
    log = np.log(static_pa)
    steps = -0.5 * (light_k[1:] + light_k[:-1]) * np.diff(log) * 287.05287 / 9.807
    bottom = 287.05287 / 9.807 * light_k[0] * (np.log(101325.0) - log[0])
    return np.asarray(bottom + np.concatenate([[0.0], np.cumsum(steps)]))


def computed_tas_kt(impact: np.ndarray, at_port: np.ndarray, ambient: np.ndarray) -> np.ndarray:
    """True airspeed, kt, that an air-data computer makes of the port's pressure."""
    mach = np.sqrt(5.0 * ((1.0 + impact / at_port) ** (1.0 / 3.5) - 1.0))
    return np.asarray(mach * np.sqrt(1.4 * 287.05287 * ambient) / KT)
