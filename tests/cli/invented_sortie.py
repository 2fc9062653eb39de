"""Invented flights with known error of the static source, by relations of their own.

Nothing here comes from the package under test: the standard atmosphere and the
pitot relations are written out again, so that a slip in the package shows.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime, timedelta

import numpy as np

from seed_demo.gusts import GUST_MEMORY_S, carried_along, remembering

KT = 1852.0 / 3600.0
FT = 0.3048
FLYING_KT = 40.0


@dataclass(frozen=True, kw_only=True)
class Truth:
    """What is true of a flight, and what is wrong with its instruments."""

    kappa: float = 0.05
    wind_east_kt: float = 14.0
    wind_north_kt: float = -9.0
    warmer_than_standard_k: float = 6.0
    recovery_factor: float = 0.8
    humidity: float = 0.55  # of saturation
    temperature_bias_k: float = 0.0
    airspeed_bias_kt: float = 0.0
    altimeter_bias_ft: float = 0.0
    roughness: float = 0.0


@dataclass(frozen=True, kw_only=True)
class Card:
    """What is flown: one run of legs at each airspeed, at one altitude.

    `legs_of` gives each run a number of legs of its own, in place of `legs`. Each run is begun
    with a change of airspeed in a minute and a half, and `climb_s` to reach the altitude.
    """

    airspeeds_kt: tuple[float, ...] = (75.0, 100.0, 125.0)
    altitude_ft: float = 4000.0
    legs: int = 4
    leg_s: int = 60
    first_heading_deg: float = 20.0
    legs_of: tuple[int, ...] = ()
    climb_s: int = 90


@dataclass(frozen=True, kw_only=True)
class Sortie:
    """What a recorder logs once a second, in the trade's units; arrays of one length."""

    ias_kt: np.ndarray
    altitude_ft: np.ndarray
    oat_degc: np.ndarray
    ground_speed_kt: np.ndarray
    track_deg: np.ndarray
    tas_kt: np.ndarray
    truth: Truth = field(default_factory=Truth)


def pressure_pa(altitude_m: np.ndarray) -> np.ndarray:
    """Standard atmosphere below 11 km."""
    return np.asarray(101325.0 * (1.0 - 0.0065 * altitude_m / 288.15) ** 5.2558797)


def impact_pa(speed_mps: np.ndarray) -> np.ndarray:
    """Pitot excess that an airspeed indicator is drawn for."""
    mach = speed_mps / 340.294
    return np.asarray(101325.0 * ((1.0 + 0.2 * mach**2) ** 3.5 - 1.0))


def dial_mps(felt_pa: np.ndarray) -> np.ndarray:
    """Airspeed that an indicator shows for a pitot excess."""
    return np.asarray(340.294 * np.sqrt(5.0 * ((1.0 + felt_pa / 101325.0) ** (1.0 / 3.5) - 1.0)))


def altitude_m(static_pa: np.ndarray) -> np.ndarray:
    """Pressure altitude, the inverse of `pressure_pa`."""
    return np.asarray((1.0 - (static_pa / 101325.0) ** (1.0 / 5.2558797)) * 288.15 / 0.0065)


def as_light_as_k(kelvin: np.ndarray, static_pa: np.ndarray, humidity: float) -> np.ndarray:
    """Temperature of dry air as light as moist air, from the densities of both its gases.

    Saturation by O. A. Alduchov, R. E. Eskridge, Journal of Applied Meteorology 35 (1996).
    """
    celsius = kelvin - 273.15
    vapour = humidity * 610.94 * np.exp(17.625 * celsius / (243.04 + celsius))
    density = (static_pa - vapour) / (287.05287 * kelvin) + vapour / (461.52 * kelvin)
    return np.asarray(static_pa / (287.05287 * density))


def _wander(rng: np.random.Generator, count: int, deviation: float, memory_s: float) -> np.ndarray:
    keep = np.exp(-1.0 / memory_s)
    kicks = rng.normal(0.0, deviation * np.sqrt(1.0 - keep**2), count)
    values = np.empty(count)
    values[0] = rng.normal(0.0, deviation)
    for i in range(1, count):
        values[i] = keep * values[i - 1] + kicks[i]
    return values


def _intended(card: Card) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Airspeed in knots, altitude in feet and heading in degrees, second by second."""
    speed, altitude, heading = [np.zeros(60)], [np.zeros(60)], [np.zeros(60)]
    last_kt, last_ft, course = 0.0, 0.0, card.first_heading_deg
    counts = card.legs_of or (card.legs,) * len(card.airspeeds_kt)
    for airspeed, legs in zip(card.airspeeds_kt, counts, strict=True):
        speed.append(np.linspace(last_kt, airspeed, 90))
        speed.append(np.full(card.climb_s - 90, airspeed))
        altitude.append(np.linspace(last_ft, card.altitude_ft, card.climb_s))
        heading.append(np.full(card.climb_s, course))
        for _ in range(legs):
            turned = 360.0 / legs
            turn_s = round(turned / 3.0)
            heading.append(np.full(card.leg_s, course))
            heading.append(course + np.linspace(0.0, turned, turn_s))
            speed.append(np.full(card.leg_s + turn_s, airspeed))
            altitude.append(np.full(card.leg_s + turn_s, card.altitude_ft))
            course += turned
        last_kt, last_ft = airspeed, card.altitude_ft
    return tuple(np.concatenate(part) for part in (speed, altitude, heading))  # type: ignore[return-value]


def fly(card: Card | None = None, truth: Truth | None = None, seed: int = 1) -> Sortie:
    """Fly a card with a static source whose kappa is known."""
    card, truth = card or Card(), truth or Truth()
    rng = np.random.default_rng(seed)
    ias_kt, altitude_ft, heading_deg = _intended(card)
    count, rough = len(ias_kt), truth.roughness
    if rough:
        ias_kt = np.maximum(ias_kt + rough * _wander(rng, count, 0.8, 20.0), 0.0)
        altitude_ft = altitude_ft + rough * _wander(rng, count, 15.0, 20.0)
    felt = impact_pa(ias_kt * KT)
    at_port = pressure_pa(altitude_ft * FT)
    static = at_port - truth.kappa * felt
    mach = np.sqrt(5.0 * (((at_port + felt) / static) ** (1.0 / 3.5) - 1.0))
    ambient_k = 288.15 - 0.0065 * altitude_ft * FT + truth.warmer_than_standard_k
    light_k = as_light_as_k(ambient_k, static, truth.humidity)
    tas = mach * np.sqrt(1.4 * 287.05287 * light_k) / KT
    course = np.radians(heading_deg)
    through = tas * np.stack([np.sin(course), np.cos(course)])
    if rough:
        gusts = remembering(rng, (2, count), 0.6 * rough, GUST_MEMORY_S, 1.0) * (tas > FLYING_KT)
        felt_gusts = carried_along(gusts, 1.0) - gusts
        tas = np.hypot(*(through + felt_gusts))
        through = through + felt_gusts + gusts
        mach = tas * KT / np.sqrt(1.4 * 287.05287 * light_k)
        felt = static * ((1.0 + 0.2 * mach**2) ** 3.5 - 1.0) / (1.0 + truth.kappa)
        ias_kt = dial_mps(felt) / KT
        altitude_ft = altitude_m(static + truth.kappa * felt) / FT
    east, north = through[0] + truth.wind_east_kt, through[1] + truth.wind_north_kt
    probe_k = ambient_k * (1.0 + 0.2 * truth.recovery_factor * mach**2)
    return Sortie(
        ias_kt=np.maximum(ias_kt + truth.airspeed_bias_kt * (ias_kt > 20.0), 0.0),
        altitude_ft=altitude_ft + truth.altimeter_bias_ft,
        oat_degc=probe_k - 273.15 + truth.temperature_bias_k,
        ground_speed_kt=np.hypot(east, north),
        track_deg=np.degrees(np.arctan2(east, north)) % 360.0,
        tas_kt=tas,
        truth=truth,
    )


HEADINGS = (
    "IAS (kt)",
    "pressure altitude (ft)",
    "OAT (degC)",
    "ground speed (kt)",
    "track (deg true)",
)


def log_text(
    sortie: Sortie,
    *,
    dated: bool = True,
    decimals: tuple[int, int, int, int, int] = (1, 0, 1, 1, 1),
    more: dict[str, np.ndarray] | None = None,
    without: tuple[str, ...] = (),
) -> str:
    """Write a flight as a comma-separated log."""
    columns = dict(
        zip(
            HEADINGS,
            (
                np.char.mod(f"%.{max(places, 0)}f", np.round(values, places))
                for places, values in zip(
                    decimals,
                    (
                        sortie.ias_kt,
                        sortie.altitude_ft,
                        sortie.oat_degc,
                        sortie.ground_speed_kt,
                        sortie.track_deg,
                    ),
                    strict=True,
                )
            ),
            strict=True,
        )
    )
    for heading, values in (more or {}).items():
        columns[heading] = np.char.mod("%.2f", values)
    kept = {heading: cells for heading, cells in columns.items() if heading not in without}
    start = datetime(2024, 5, 2, 9, 30, 0)
    seconds = range(len(sortie.ias_kt))
    if dated:
        clock = [(start + timedelta(seconds=i)).strftime("%Y-%m-%d,%H:%M:%S") for i in seconds]
    else:
        clock = [(start + timedelta(seconds=i)).strftime("%H:%M:%S") for i in seconds]
    heading = ("UTC date,UTC time" if dated else "UTC time") + "," + ",".join(kept)
    rows = (",".join(cells) for cells in zip(clock, *kept.values(), strict=True))
    return "\n".join([heading, *rows]) + "\n"
