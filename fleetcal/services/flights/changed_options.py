"""What is asked of a flight that is stored already, beside what it was stored with."""

from __future__ import annotations

import json
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from fleetcal.errors import DataError
from fleetcal.flightlog.file_bytes import hash_of
from fleetcal.plain_file import text_of
from fleetcal.services.flights.reduction import FlightDetails, HandChoices, OtherOption, solved_by
from fleetcal.services.flights.settings_file import (
    ReductionSettings,
    settings_document,
)
from fleetcal.services.flights.stored_request import settings_then
from fleetcal.store import StoredFlight

_NONE = "none"
_NEAR = 1e-6


@dataclass(frozen=True)
class Given:
    """What somebody asked for.

    Attributes:
        names (collection of str or None): Fields of `FlightDetails` that were given; None for those
            that differ from their default.
        settings: None if no file was given.
    """

    details: FlightDetails
    names: Collection[str] | None = None
    settings: ReductionSettings | None = None
    settings_file: Path | None = None

    def has(self, name: str) -> bool:
        """Tell whether a detail was given."""
        if self.names is not None:
            return name in self.names
        return bool(getattr(self.details, name) != getattr(FlightDetails(airframe=None), name))


def changed_options(
    flight: StoredFlight, technique: str, flap_setting: str, given: Given
) -> tuple[OtherOption, ...]:
    """Return the options that are given and differ from what a flight was stored with.

    Args:
        technique, flap_setting: Of its points.
    """
    document = _document(flight)
    stored = {
        "flown_on": flight.flown_on,
        "flap_setting": flap_setting,
        "airspeed_from": document.get("airspeed_from"),
        "declination_deg": document.get("declination_deg"),
        "heading": document.get("heading", "ignored"),
        "solve_by": solved_by(technique),
    }
    found = list(_weight(flight, document, given))
    for name, option in _PLAIN.items():
        value = getattr(given.details, name)
        if given.has(name) and not _same(stored[name], value):
            found.append(
                OtherOption(option, _shown(stored[name]), _shown(value), (option, _shown(value)))
            )
    found += _mapping(document.get("mapping"), given)
    if given.details.choices.any:
        found += _choices(document.get("choices"), given.details.choices)
    found += _air(document.get("air_asked", {}), given.details.air.document())
    if given.settings is not None:
        found += _settings(document, given.settings, given.settings_file)
    if given.has("note") and given.details.note != flight.note:
        found.append(OtherOption("--note", flight.note or _NONE, given.details.note or _NONE, ()))
    return tuple(found)


_PLAIN = {
    "flown_on": "--date",
    "flap_setting": "--flap-setting",
    "airspeed_from": "--airspeed-from",
    "declination_deg": "--declination-deg",
    "heading": "--heading",
    "solve_by": "--solve-by",
}


def words_again(path: Path, others: Collection[OtherOption]) -> tuple[str, ...]:
    """Return the words after the program's name that reduce a flight again as it is asked now.

    Args:
        path: Of the log.
        others: Collection of OtherOption.

    Returns:
        Empty if nothing of it can be asked again.
    """
    words = dict.fromkeys(other.words for other in others if other.words)
    if not words:
        return ()
    return ("reduce", str(path), "--again", *(w for group in words for w in group), "--replace")


def _document(flight: StoredFlight) -> dict[str, Any]:
    try:
        document = json.loads(flight.settings_json)
    except ValueError:
        return {}
    return document if isinstance(document, dict) else {}


def _weight(
    flight: StoredFlight, document: Mapping[str, Any], given: Given
) -> Iterator[OtherOption]:
    details, stored_weight = given.details, document.get("weight")
    stored = f"{flight.weight_kg:g} kg"
    if stored_weight is not None:
        stored = _takeoff(stored_weight["takeoff_weight_kg"], stored_weight["fuel_used_kg_per_h"])
    if details.takeoff_weight_kg is not None:
        now = _takeoff(details.takeoff_weight_kg, details.fuel_used_kg_per_h)
        words = ["--takeoff-weight-kg", f"{details.takeoff_weight_kg:g}"]
        if details.fuel_used_kg_per_h is not None:
            words += ["--fuel-used-kg-per-h", f"{details.fuel_used_kg_per_h:g}"]
        if now != stored:
            yield OtherOption("--takeoff-weight-kg", stored, now, tuple(words))
        return
    kilograms = details.weight_kg
    if kilograms is not None and (
        stored_weight is not None or not _same(flight.weight_kg, kilograms)
    ):
        words = ["--weight-kg", f"{kilograms:g}"]
        yield OtherOption("--weight-kg", stored, f"{kilograms:g} kg", tuple(words))


def _takeoff(weight_kg: float, fuel_kg_per_h: float | None) -> str:
    used = "the log's fuel flow" if fuel_kg_per_h is None else f"{fuel_kg_per_h:g} kg/h"
    return f"{weight_kg:g} kg at take-off, {used}"


def _mapping(stored_mapping: Mapping[str, str] | None, given: Given) -> Iterator[OtherOption]:
    file = given.details.mapping
    if file is None:
        return
    text = text_of(file)
    if stored_mapping is None or stored_mapping["text"] != text:
        before = _NONE if stored_mapping is None else stored_mapping["name"]
        now = file.name if before != file.name else f"{file.name}, whose contents have changed"
        yield OtherOption("--mapping", before, now, ("--mapping", str(file)))


def _choices(stored_choices: Mapping[str, Any] | None, given: HandChoices) -> Iterator[OtherOption]:
    document = stored_choices or {}
    listed = document.get("leg_list")
    before = [f"--drop {run}:{leg}" for run, leg in document.get("dropped_legs", ())]
    before += [f"--keep {run}" for run in document.get("kept_runs", ())]
    before += [f"--legs {listed['name']}"] if listed else []
    words = [f"--drop {run}:{leg}" for run, leg in sorted(set(given.drop))]
    words += [f"--keep {run}" for run in sorted(set(given.keep))]
    file, legs = given.leg_list, given.legs
    if file is not None:
        if listed and listed.get("sha256") == hash_of(file):
            return
        words.append(f"--legs {file}")
    elif legs is not None:
        if listed and listed.get("sha256") == legs.sha256:
            return
        words.append(f"--legs {legs.name}")
    elif words == before:
        return
    parts = tuple(part for word in words for part in word.split(" ", 1))
    yield OtherOption("--drop, --keep, --legs", " ".join(before) or _NONE, " ".join(words), parts)


def _air(stored: Mapping[str, Any], given: Mapping[str, Any]) -> Iterator[OtherOption]:
    for name, value in given.items():
        if not _same(stored.get(name), value):
            option = f"--{name.replace('_', '-')}"
            words = (option, _shown(value))
            yield OtherOption(option, _shown(stored.get(name)), _shown(value), words)


def _settings(
    document: Mapping[str, Any], given: ReductionSettings, file: Path | None
) -> Iterator[OtherOption]:
    words = ("--settings", str(file)) if file is not None else ()
    try:
        stored = settings_document(settings_then(document))
    except DataError:
        yield OtherOption("--settings", "not readable", str(file), words)
        return
    for section, values in settings_document(given).items():
        for key, value in values.items():
            before = stored[section].get(key)
            if not _same(before, value):
                name = f"--settings: {section}.{key}"
                yield OtherOption(name, _shown(before), _shown(value), words)


def _same(one: Any, other: Any) -> bool:
    if isinstance(one, int | float) and isinstance(other, int | float):
        return abs(one - other) <= _NEAR * max(1.0, abs(one), abs(other))
    return bool(one == other)


def _shown(value: Any) -> str:
    if value is None:
        return _NONE
    return f"{value:g}" if isinstance(value, float) else str(value)
