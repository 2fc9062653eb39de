"""Find measured climbs and glides with their equipment."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, ClassVar

from fleetcal.records import Climb, names_of
from fleetcal.store.flown_equipment import FLOWN, with_equipment
from fleetcal.store.leak_rows import barred_sorties
from fleetcal.store.plain_reads import Reader, ask, day_of, moment_of


@dataclass(frozen=True, kw_only=True, slots=True)
class StoredClimb(Climb):
    """A measured climb or glide with its airframe and equipment.

    `propeller_pitch` is empty where nobody said; `barred` says why a failed leak check
    keeps it out of every pool.
    """

    climb_id: int
    sortie_id: int
    airframe: str
    type: str
    static_source: str
    engine: str
    propeller: str
    propeller_pitch: str
    flown_on: date
    source_name: str
    decided_at: datetime
    barred: str = ""

    LISTED: ClassVar = (
        *("climb_id", "sortie_id", "airframe", "type", "static_source", "engine", "propeller"),
        *("propeller_pitch", "flown_on", "source_name"),
        *(*names_of(Climb), "decided_at", "barred"),
    )


_COLUMNS = {
    "climb_id": "climb_measurement.id",
    **FLOWN,
    "propeller_pitch": "propeller.pitch",
    **{name: f"climb_measurement.{name}" for name in (*names_of(Climb), "decided_at")},
}


def select_climbs(
    reader: Reader,
    type_name: str | None = None,
    kind: str | None = None,
    airframe: str | None = None,
) -> list[StoredClimb]:
    """Return the climbs and glides of a type.

    Args:
        type_name: All types when left out.
        kind: ``climb`` or ``glide``; both when left out.
        airframe: Tag; all when left out.

    Returns:
        By day, sortie and number.
    """
    conditions = {
        "aircraft_type.name": type_name,
        "climb_measurement.kind": kind,
        "airframe.tag": airframe,
    }
    given = {column: value for column, value in conditions.items() if value is not None}
    where = " AND ".join(("TRUE", *(f"{column} = :v{n}" for n, column in enumerate(given))))
    query = f"""SELECT {", ".join(_COLUMNS.values())}
        {with_equipment("climb_measurement", "climb_measurement.sortie_id")}
        WHERE {where} ORDER BY sortie.flown_on, sortie.id, climb_measurement.number"""
    barred = barred_sorties(reader)
    values = {f"v{n}": value for n, value in enumerate(given.values())}
    return [
        _stored(dict(zip(_COLUMNS, row, strict=True)), barred) for row in ask(reader, query, values)
    ]


def _stored(values: dict[str, Any], barred: dict[int, str]) -> StoredClimb:
    values["flown_on"] = day_of(values["flown_on"])
    values["decided_at"] = moment_of(values["decided_at"])
    values["accepted"] = bool(values["accepted"])
    return StoredClimb(**values, barred=barred.get(values["sortie_id"], ""))
