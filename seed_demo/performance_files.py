"""The logs of the performance sorties, and what is true of climbs and glides for truth.json."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import numpy as np

from seed_demo import handbook
from seed_demo.performance_story import Part, build_performance_sorties, parts_of
from seed_demo.performance_truth import IDLE, PLANTS, Plant, best_speeds_kt, rate_ftmin
from seed_demo.recorder import log_text

LOG_FOLDER: Final = "performance-logs"
TRUE_ALTITUDE_FT: Final = 2200.0
COMPARED_KT: Final = (65.0, 80.0, 90.0)  # inside the speeds that every curve was flown at


@dataclass(frozen=True, kw_only=True)
class WrittenPerformance:
    """What a technical officer is handed: a log, the weight and fuel, and when what was flown."""

    path: Path
    tag: str
    takeoff_kg: float
    fuel_kg_per_h: float
    parts: tuple[Part, ...]
    plant: Plant


def write_performance(folder: Path) -> tuple[WrittenPerformance, ...]:
    """Fly every performance sortie and write its log.

    Args:
        folder: Made if it is not there; files of the same names are replaced.
    """
    (folder / LOG_FOLDER).mkdir(parents=True, exist_ok=True)
    written: list[WrittenPerformance] = []
    for sortie in build_performance_sorties():
        flight = sortie.flown()
        path = folder / LOG_FOLDER / sortie.file_name
        path.write_text(log_text(sortie.recorder, flight, sortie.start), encoding="utf-8")
        written.append(
            WrittenPerformance(
                path=path,
                tag=sortie.airframe.tag,
                takeoff_kg=sortie.loading.start_kg,
                fuel_kg_per_h=round(sortie.loading.burn_kg_per_s * 3600.0, 1),
                parts=parts_of(sortie, flight),
                plant=sortie.plant,
            )
        )
    return tuple(written)


def curve_truth(plant: Plant, tag: str, altitude_ft: float) -> dict[str, Any]:
    """Return what is true of one pairing at one power setting, in standard air at a height (ft).

    The handbook's speeds are there as CAS by its own table, and how far they are off.
    """
    speeds = best_speeds_kt(plant, tag, altitude_ft)
    rates = rate_ftmin(plant, tag, np.array(COMPARED_KT), altitude_ft)
    said = handbook.speeds_cas_kt()
    return {
        "pairing": plant.name,
        "kind": "glide" if tag == IDLE else "climb",
        "power_state": tag,
        "limit": "" if tag == IDLE else plant.state(tag).limit,
        "altitude_ft": altitude_ft,
        "best_speeds_cas_kt": {name: round(value, 2) for name, value in speeds.items()},
        "rate_ftmin": {
            f"{cas:.0f}": round(float(rate), 1)
            for cas, rate in zip(COMPARED_KT, rates, strict=True)
        },
        "handbook_less_truth_kt": {
            name: round(said[name] - value, 2) for name, value in speeds.items() if name in said
        },
    }


def performance_document() -> list[dict[str, Any]]:
    """Return what is true of every pairing and power setting, for truth.json."""
    return [
        curve_truth(plant, tag, TRUE_ALTITUDE_FT)
        for plant in PLANTS
        for tag in (*(state.tag for state in plant.states), IDLE)
    ]


def performance_page(curves: list[dict[str, Any]]) -> list[str]:
    """Return the lines of truth.md on climbs and glides."""
    lines = [
        "",
        f"## Climbs and glides at reference weight, {TRUE_ALTITUDE_FT:.0f} ft standard air",
        "",
        "| pairing | power | best speed | kt CAS | handbook less truth, kt |",
        "| --- | --- | --- | ---: | ---: |",
    ]
    for curve in curves:
        power = " for ".join(filter(None, (curve["power_state"], curve["limit"])))
        for name, cas in curve["best_speeds_cas_kt"].items():
            off = curve["handbook_less_truth_kt"].get(name)
            said = "-" if off is None else f"{off:+.1f}"
            lines.append(f"| {curve['pairing']} | {power} | {name} | {cas:.1f} | {said} |")
    return lines
