"""Every input file of the demonstration, written into one folder."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from seed_demo.description import fleet_toml
from seed_demo.fleet import build_fleet
from seed_demo.flight import Flight
from seed_demo.leg_sheet import leg_sheet_text
from seed_demo.older_points import older_points_text
from seed_demo.recorder import log_text
from seed_demo.season import season_text
from seed_demo.story import Sortie, build_sorties
from seed_demo.truth_files import sortie_truth, truth_document, truth_page

LOG_FOLDER: Final = "logs"
FLEET_FILE: Final = "fleet.toml"
OLDER_FILE: Final = "older-points.csv"
SEASON_FILE: Final = "season.csv"
LIST_FILE: Final = "list-of-flights.csv"


@dataclass(frozen=True, kw_only=True)
class WrittenSortie:
    """What a technical officer is handed: a file, a tag, a weight, a date if the file has none."""

    path: Path
    tag: str
    weight_kg: float
    date_text: str | None
    group_name: str


def recorded_weight(flight: Flight) -> float:
    """Return the weight (kg) in the middle of the legs, to a whole kilogram."""
    return float(round(float(flight.weight[flight.profile.box >= 0].mean())))


def _write_sortie(folder: Path, sortie: Sortie, flight: Flight) -> WrittenSortie:
    if sortie.by_hand:
        text = leg_sheet_text(flight)
    else:
        text = log_text(sortie.recorder, flight, sortie.start)
    path = folder / LOG_FOLDER / sortie.file_name
    path.write_text(text, encoding="utf-8")
    return WrittenSortie(
        path=path,
        tag=sortie.airframe.tag,
        weight_kg=recorded_weight(flight),
        date_text=sortie.day.isoformat() if sortie.by_hand else None,
        group_name=sortie.group.name,
    )


def _list_text(written: Sequence[WrittenSortie]) -> str:
    """Return the list by which the folder of logs is reduced in one go."""
    lines = [f"{w.path.name},{w.tag},{w.weight_kg:g},{w.date_text or ''}" for w in written]
    return "\n".join(("file,airframe,weight_kg,date", *lines)) + "\n"


def write_inputs(folder: Path) -> tuple[WrittenSortie, ...]:
    """Fly every sortie and write its log, tables of points, fleet description and truth.

    Args:
        folder: Made if it is not there; files of the same names are replaced.
    """
    (folder / LOG_FOLDER).mkdir(parents=True, exist_ok=True)
    fleet = build_fleet()
    (folder / FLEET_FILE).write_text(fleet_toml(fleet), encoding="utf-8")
    (folder / OLDER_FILE).write_text(older_points_text(fleet), encoding="utf-8")
    (folder / SEASON_FILE).write_text(season_text(fleet), encoding="utf-8")
    written: list[WrittenSortie] = []
    truths: list[dict[str, Any]] = []
    for sortie in build_sorties():
        flight = sortie.flown()
        written.append(_write_sortie(folder, sortie, flight))
        truths.append(sortie_truth(sortie, flight))
    (folder / LIST_FILE).write_text(_list_text(written), encoding="utf-8")
    document = truth_document(fleet, truths)
    text = json.dumps(document, indent=1, ensure_ascii=False, allow_nan=False)
    (folder / "truth.json").write_text(text + "\n", encoding="utf-8")
    (folder / "truth.md").write_text(truth_page(document), encoding="utf-8")
    return tuple(written)
