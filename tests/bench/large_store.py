"""An invented store of many airframes, and files of points for it, written quickly."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import numpy as np

from fleetcal.store import (
    AirframeDescription,
    FitDescription,
    FleetDescription,
    PropellerDescription,
    StaticSourceDescription,
    TypeDescription,
)

TYPES = 5
PORTS = ("wing boom", "tail-boom flush pair")
ENGINES, PROPELLERS = ("75 kW four", "100 kW turbo four"), ("two-blade fixed", "three-blade")
SORTIES, POINTS = 10, 10
COLUMNS = (
    "airframe,flown_on,sortie,technique,flap_setting,weight_kg,vic_kt,pressure_altitude_ft,"
    "oat_degc,kappa,u_kappa,u_shared_kappa"
)


def tag_of(number: int) -> str:
    """Return the tag of an airframe; a fifth of them are of each type."""
    return f"K{number % TYPES}-{number:05d}"


def large_fleet(airframes: int) -> FleetDescription:
    """Describe a fleet of five types, each with two ports and two pairings."""
    kinds = tuple(
        TypeDescription(
            name=f"Corrie {number}",
            reference_weight_kg=600.0,
            scaling_speed_kt=45.0,
            static_sources=tuple(StaticSourceDescription(port) for port in PORTS),
        )
        for number in range(TYPES)
    )
    return FleetDescription(
        types=kinds,
        engines=ENGINES,
        propellers=tuple(map(PropellerDescription, PROPELLERS)),
        airframes=tuple(_airframe(number) for number in range(airframes)),
    )


def _airframe(number: int) -> AirframeDescription:
    among = number // TYPES
    port, pairing = PORTS[among % 2], among // 2 % 2
    fit = FitDescription(
        from_date=date(2015, 1, 1),
        static_source=port,
        engine=ENGINES[pairing],
        propeller=PROPELLERS[pairing],
        pitot="nose",
    )
    return AirframeDescription(tag=tag_of(number), type=f"Corrie {number % TYPES}", fits=(fit,))


def write_points(
    path: Path, airframes: range, year: int = 2019, sorties: int = SORTIES, points: int = POINTS
) -> int:
    """Write a file of points of some airframes and return how many there are.

    Every group has a curve of its own, airframes depart from it by 0.02 in kappa,
    sorties by 0.003, points by 0.004.
    """
    count = 0
    with path.open("w", encoding="utf-8") as file:
        file.write(COLUMNS + "\n")
        for number in airframes:
            random = np.random.default_rng([7, year, number])
            among = number // TYPES
            level = 0.03 * (among % 2) - 0.02 * (among // 2 % 2) + 0.02 * _normal(number)
            vic = random.uniform(60.0, 140.0, (sorties, points))
            lift = (45.0 / vic) ** 2
            kappa = level - 0.1 * (lift - 0.25) + 0.003 * random.standard_normal((sorties, 1))
            kappa += 0.004 * random.standard_normal(vic.shape)
            tag = tag_of(number)
            for sortie in range(sorties):
                start = (
                    f"{tag},{year}-{1 + sortie % 12:02d}-{1 + number % 28:02d},{sortie},gps legs,up"
                )
                for v, k in zip(vic[sortie].tolist(), kappa[sortie].tolist(), strict=True):
                    file.write(f"{start},590,{v:.3f},4000,8.5,{k:.6f},0.005,0.003\n")
            count += sorties * points
    return count


def _normal(number: int) -> float:
    return float(np.random.default_rng([11, number]).standard_normal())
