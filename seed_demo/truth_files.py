"""The truth written beside the logs: truth.json for programs, truth.md for people."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any, Final

import numpy as np

from seed_demo.air import KT
from seed_demo.fleet import Airframe
from seed_demo.flight import Flight
from seed_demo.handbook import handbook_truth
from seed_demo.leg_sheet import legs_of
from seed_demo.performance_files import performance_document, performance_page
from seed_demo.story import Sortie
from seed_demo.truth import (
    MID_CONSTANT_GROUP,
    MIDDLE_S,
    PAIRING_DEPARTURES,
    REFERENCE_WEIGHT_KG,
    SCALING_SPEED_KT,
    group_curve,
)

NOTICE: Final = "Invented for a demonstration: no aircraft, flight or number in it is real."
SHOWN_KT: Final = (65, 70, 80, 90, 100, 110, 120, 130, 140)


def _groups() -> list[dict[str, Any]]:
    return [
        {
            "group": group.name,
            "static_source": group.static_source,
            "engine": group.engine,
            "propeller": group.propeller,
            "curve": asdict(group_curve(group)),
            "correction_kt": {
                str(v): round(group_curve(group).correction_kt(v), 4) for v in SHOWN_KT
            },
        }
        for group in PAIRING_DEPARTURES
    ]


def _airframe(airframe: Airframe) -> dict[str, Any]:
    return {
        "airframe": airframe.tag,
        "departure": asdict(airframe.departure),
        "instruments": {k: round(v, 4) for k, v in asdict(airframe.instruments).items()},
        "planted": airframe.planted,
    }


def _boxes(flight: Flight) -> list[dict[str, float]]:
    boxes: dict[int, list[int]] = {}
    for box, _, samples in legs_of(flight):
        boxes.setdefault(box, []).extend(samples.tolist())
    return [
        {
            "ias_kt": round(float(flight.indicated_airspeed[at].mean()) / KT, 3),
            "tas_kt": round(float(flight.true_airspeed[at].mean()) / KT, 3),
            "kappa": round(float(flight.kappa[at].mean()), 5),
            "wind_to_east_kt": round(float(flight.wind_east[at].mean()) / KT, 3),
            "wind_to_north_kt": round(float(flight.wind_north[at].mean()) / KT, 3),
        }
        for at in boxes.values()
    ]


def sortie_truth(sortie: Sortie, flight: Flight) -> dict[str, Any]:
    """Return what was true in one sortie: the day's air and every box."""
    return {
        "file": sortie.file_name,
        "airframe": sortie.airframe.tag,
        "flown_on": sortie.day.isoformat(),
        "recorded_group": sortie.group.name,
        "true_curve": asdict(sortie.airframe.true_curve(sortie.day)),
        "wind_speed_kt": round(sortie.weather.wind_speed_mps / KT, 2),
        "wind_from_deg_true": round(float(np.degrees(sortie.weather.wind_from_rad)), 1),
        "relative_humidity_pct": round(100.0 * sortie.weather.humidity, 1),
        "track_declination_deg": 0.0 if sortie.by_hand else sortie.recorder.declination_deg,
        "boxes": _boxes(flight),
    }


def truth_document(fleet: tuple[Airframe, ...], sorties: list[dict[str, Any]]) -> dict[str, Any]:
    """Return the whole truth as one object for truth.json."""
    return {
        "notice": NOTICE,
        "curve": f"kappa = level + tilt*(s - {MIDDLE_S}) + bow*(s - {MIDDLE_S})^2",
        "s": f"({SCALING_SPEED_KT} kt / IAS)^2 * weight / {REFERENCE_WEIGHT_KG} kg",
        "correction_weight_kg": REFERENCE_WEIGHT_KG,
        "groups": _groups(),
        "airframes": [_airframe(airframe) for airframe in fleet],
        "handbook": handbook_truth(),
        "climbs_and_glides": performance_document(),
        "sorties": sorties,
    }


def truth_page(document: dict[str, Any]) -> str:
    """Return truth.md: the curves as tables, and what was planted."""
    lines = ["# What is true of this fleet", "", NOTICE, ""]
    lines += [f"{document['curve']}, with s = {document['s']}.", ""]
    lines += [f"## Correction CAS - IAS (kt) at {document['correction_weight_kg']:.0f} kg", ""]
    lines += ["| group | " + " | ".join(f"{v} kt" for v in SHOWN_KT) + " |"]
    lines += ["| --- |" + " ---: |" * len(SHOWN_KT)]
    for group in document["groups"]:
        cells = (f"{group['correction_kt'][str(v)]:+.2f}" for v in SHOWN_KT)
        lines.append(f"| {group['group']} | " + " | ".join(cells) + " |")
    lines += [
        "",
        "The leak comes on top of the departure; the swapped airframe flies with the curve",
    ]
    lines += [f"of {MID_CONSTANT_GROUP.name}.", ""]
    lines += [f"The handbook's table {document['handbook']['planted']}.", ""]
    lines += ["## Departure of each airframe from its group's curve", ""]
    lines += ["| airframe | level | tilt | planted |", "| --- | ---: | ---: | --- |"]
    for airframe in document["airframes"]:
        own = airframe["departure"]
        lines.append(
            f"| {airframe['airframe']} | {own['level']:+.4f} | {own['tilt']:+.4f} "
            f"| {airframe['planted']} |"
        )
    lines += performance_page(document["climbs_and_glides"])
    return "\n".join(lines) + "\n"
