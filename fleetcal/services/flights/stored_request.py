"""What was asked of the reduction of a stored flight, to ask it again."""

from __future__ import annotations

import csv
import json
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final

from fleetcal.errors import DataError
from fleetcal.services.flights.air_taken import NOTHING_STATED, StatedAir, stated_air
from fleetcal.services.flights.reduction import FlightDetails, HandChoices, solved_by
from fleetcal.services.flights.settings_file import ReductionSettings, kept_settings
from fleetcal.services.kept_file import plain_name
from fleetcal.store import WEIGHT_SUPPOSED, StoredFlight

#: Uncertainties that a bench check puts in the place of the supposed ones.
_BY_BENCH: Final = {"airspeed": "u_airspeed_kt", "altimeter": "u_altitude_ft"}
#: The probe of every flight before it was asked for.
_ONCE_SUPPOSED: Final = {"recovery_factor": 0.8}
#: What was supposed of instruments without a bench check before their tolerance was.
_OLD_DEFAULTS: Final = {"u_airspeed_kt": 0.3, "u_altitude_ft": 20.0}
_BY_HAND: Final = ("dropped_legs", "kept_runs")


@dataclass(frozen=True)
class StoredRequest:
    """What a flight is reduced with.

    Attributes:
        choices: What was chosen by hand, as it is stored with the sortie; None if nothing was, or
            something else is chosen now.
    """

    details: FlightDetails
    settings: ReductionSettings
    choices: dict[str, Any] | None = None


@dataclass(frozen=True)
class NewRequest:
    """What is asked otherwise than before.

    Attributes:
        details: Fields of `FlightDetails` that were given.
        settings: In the place of all stored ones.
    """

    details: Mapping[str, Any]
    settings: ReductionSettings | None = None


def stored_request(
    flight: StoredFlight, points: list[dict[str, Any]], folder: Path, new: NewRequest
) -> StoredRequest:
    """Return what a flight was reduced with, but for what is asked anew.

    Args:
        points: As stored.
        folder: Where stored lists and mappings are written, to be read as files are.

    Raises:
        DataError: If what is stored with the sortie is not what a reduction stores.
    """
    document = _document(flight)
    details = FlightDetails(
        airframe=flight.airframe,
        flown_on=flight.flown_on,
        flap_setting=points[0]["flap_setting"],
        airspeed_from=document.get("airspeed_from"),
        note=flight.note,
        declination_deg=document.get("declination_deg"),
        heading=document.get("heading", "ignored"),
        solve_by=solved_by(points[0]["technique"]),
    )
    details = replace(details, **_weight(flight, document))
    if "mapping" in document and "mapping" not in new.details:
        details = replace(details, mapping=_mapping(document["mapping"], folder))
    choices = document.get("choices") if not _chosen_anew(new) else None
    if choices is not None:
        details = replace(details, choices=_choices(choices, folder))
    weighed = {"weight_kg": None, "takeoff_weight_kg": None, "fuel_used_kg_per_h": None}
    details = replace(details, air=_air(document, new))
    given = {**(weighed if weighed.keys() & new.details.keys() else {}), **new.details}
    given.pop("air", None)  # joined with what was said then
    settings = new.settings or settings_then(document)
    return StoredRequest(replace(details, **given), settings, choices)


def _air(document: Mapping[str, Any], new: NewRequest) -> StatedAir:
    """Return what was said of the air, but for what is said anew."""
    then, now = stated_air(**document.get("air_asked", {})), new.details.get("air", NOTHING_STATED)
    if now.given is not None:
        then = replace(then, given=now.given)
    if now.relative_humidity is not None or now.dew_point_k is not None:
        moist = (now.relative_humidity, now.dew_point_k)
        then = replace(then, relative_humidity=moist[0], dew_point_k=moist[1])
    if now.temperature_k is not None:
        then = replace(then, temperature_k=now.temperature_k)
    if now.setting_pa is not None:
        then = replace(then, setting_pa=now.setting_pa)
    return then


def _document(flight: StoredFlight) -> dict[str, Any]:
    try:
        document = json.loads(flight.settings_json)
    except ValueError:
        document = None
    if not isinstance(document, dict) or "legs" not in document:
        raise DataError(
            f"sortie {flight.sortie_id}: what it was reduced with is not stored",
            "give the settings with --settings",
        )
    return document


def _chosen_anew(new: NewRequest) -> bool:
    return "choices" in new.details or new.details.get("solve_by", "legs") != "legs"


def _weight(flight: StoredFlight, document: dict[str, Any]) -> dict[str, Any]:
    if document.get(WEIGHT_SUPPOSED):
        return {"weight_kg": None}  # the reference weight, as it is now
    if "weight" not in document:
        return {"weight_kg": flight.weight_kg}
    weight = document["weight"]
    return {name: weight[name] for name in ("takeoff_weight_kg", "fuel_used_kg_per_h")}


def _mapping(mapping: dict[str, str], folder: Path) -> Path:
    path = folder / plain_name(mapping["name"], "mapping.toml")
    path.write_text(mapping["text"], encoding="utf-8")
    return path


def _choices(choices: dict[str, Any], folder: Path) -> HandChoices:
    if "leg_list" in choices:
        path = folder / plain_name(choices["leg_list"]["name"], "legs.csv")
        with path.open("w", encoding="utf-8", newline="") as stream:
            writer = csv.writer(stream)
            writer.writerow(["run", "start_s", "stop_s"])
            for leg in choices["leg_list"]["legs"]:
                writer.writerow([leg["run"], leg["start_s"], leg["stop_s"]])
        return HandChoices(leg_list=path)
    dropped, kept = (choices.get(name, []) for name in _BY_HAND)
    return HandChoices(tuple((run, leg) for run, leg in dropped), tuple(kept))


def settings_then(document: Mapping[str, Any]) -> ReductionSettings:
    """Return the settings that were asked for when a flight was stored.

    Args:
        document: As it is stored with the sortie.

    Raises:
        MalformedFileError: If a value is none that a setting can have.
    """
    return kept_settings(_without_defaults(_unbenched(document)))


def _unbenched(document: Mapping[str, Any]) -> dict[str, Any]:
    """Return the settings without the uncertainties that bench checks had put in.

    The checks in force now say them again.
    """
    applied = document.get("bench") or {}
    gone = {_BY_BENCH[kind] for kind, check in applied.items() if check and kind in _BY_BENCH}
    uncertainty = document.get("uncertainty", {})
    if "temperature" not in document:  # older: what nobody asked for was written too
        gone |= {key for key, value in _OLD_DEFAULTS.items() if uncertainty.get(key) == value}
    kept = {k: v for k, v in uncertainty.items() if k not in gone}
    return {**document, "uncertainty": kept}


def _without_defaults(document: dict[str, Any]) -> dict[str, Any]:
    """Return the settings without the recovery factor that was once supposed of every flight."""
    if "temperature" in document or document.get("probe") != _ONCE_SUPPOSED:
        return document
    return {**document, "probe": {}}
