"""Invented runs of level flight at a known power, the physics written out again."""

from __future__ import annotations

import numpy as np

from tests.cli.invented_fleet import REFERENCE_WEIGHT_KG, SCALING_SPEED_KT, WING, Group, tags
from tests.cli.invented_sortie import FT, KT, as_light_as_k, impact_pa, pressure_pa

#: Share of rated power at sea level and reference weight: A (V/45)^3 + B (45/V).
PARASITE, INDUCED = 0.0360, 0.34
FLEET = (Group(WING, 6, 0.0, 0.0),)


def density_ratio(altitude_ft: float, warmer_k: float = 0.0, humidity: float = 0.0) -> float:
    warm = np.asarray(288.15 - 0.0065 * altitude_ft * FT + warmer_k)
    static = pressure_pa(np.asarray(altitude_ft * FT))
    return float(static / 101325.0 * 288.15 / as_light_as_k(warm, static, humidity))


def true_tas(power_pct, altitude_ft, weight_kg=600.0, warmer_k=0.0, drag=1.0) -> float:
    """The faster speed, kt, at which power given and needed meet, by halving."""
    sigma, w = density_ratio(altitude_ft, warmer_k), weight_kg / REFERENCE_WEIGHT_KG
    low, high = 70.0, 220.0
    for _ in range(60):
        ve = (low + high) / 2.0
        need = PARASITE * (ve / SCALING_SPEED_KT) ** 3 + INDUCED * w**2 * SCALING_SPEED_KT / ve
        low, high = (ve, high) if need * drag < power_pct / 100.0 * sigma**0.5 else (low, ve)
    return float(ve / sigma**0.5)


def cas_kt(tas_kt: float, altitude_ft: float, warm_k: float) -> float:
    """The CAS of a true airspeed, by halving."""
    mach = tas_kt * KT / np.sqrt(1.4 * 287.05287 * warm_k)
    impact = float(pressure_pa(np.asarray(altitude_ft * FT))) * ((1 + 0.2 * mach**2) ** 3.5 - 1)
    low, high = 20.0, 300.0
    for _ in range(60):
        middle = (low + high) / 2.0
        low, high = (
            (middle, high) if float(impact_pa(np.asarray(middle * KT))) < impact else (low, middle)
        )
    return middle


def flown(
    powers=(52.0, 58.0, 65.0, 72.0, 78.0), seed=1, odd=None, warmer_k=None, charted=False, error=1.0
):
    """Points of a fleet as CSV, and their powers as CSV, a sortie an airframe.

    `odd` multiplies the drag of some tags, `charted` notes the power of a chart at
    standard temperature, of which the engine gives less in warm air.
    """
    rng = np.random.default_rng(seed)
    rows = [
        "airframe,flown_on,sortie,technique,weight_kg,vic_kt,pressure_altitude_ft,oat_degc,tas_kt,"
        "dvpc_kt,u_dvpc_kt"
    ]
    noted = ["point,power_pct,u_power_pct,basis"]
    for tag in tags(FLEET):
        drag = float(rng.normal(1.0, 0.01 * error)) * (odd or {}).get(tag, 1.0)
        warmer = float(rng.uniform(-5.0, 18.0)) if warmer_k is None else warmer_k
        weight, display = float(rng.uniform(520.0, 600.0)), float(rng.normal(0.0, 1.0 * error))
        for power in powers:
            altitude = float(rng.uniform(2500.0, 8500.0))
            warm = 288.15 - 0.0065 * altitude * FT + warmer
            given = power * np.sqrt((warm - warmer) / warm) if charted else power
            tas = true_tas(given, altitude, weight, warmer, drag) + rng.normal(0.0, 0.4 * error)
            vic = cas_kt(tas, altitude, warm) - 2.0  # a port that reads 2 kt low
            reading = power + display + float(rng.normal(0.0, 0.6 * error))
            rows.append(
                f"{tag},2024-05-02,{tag},gps legs,{weight:.1f},{vic:.3f},{altitude:.1f},"
                f"{warm - 273.15:.3f},{tas:.4f},2.0,0.5"
            )
            basis = "standard air" if charted else "actual"
            noted.append(f"{len(rows) - 1},{reading:.3f},1.5,{basis}")
    return "\n".join(rows) + "\n", "\n".join(noted) + "\n"


BOOK = """
[[cruise_table]]
type = "Corrie 2"
engine = "75 kW four"
propeller = "two-blade fixed"
name = "first edition"
weight_kg = 600
rows = [{rows}]
"""
