"""Note the power at which runs were flown, by hand or from a CSV file, and list them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np

from fleetcal.airdata.performance.generalised_power import LevelFlight
from fleetcal.errors import MissingColumnError
from fleetcal.records import ACTUAL, STANDARD_AIR
from fleetcal.services.curves.groups import find_type
from fleetcal.services.performance.cruise_runs import U_POWER_PCT, cruise_runs, why_not
from fleetcal.services.plain_table import Tell, read_plain_table, silent
from fleetcal.services.point_cells import FileRow
from fleetcal.services.table_columns import NUMBER, table_column
from fleetcal.services.table_words import columns_named
from fleetcal.store import (
    CruiseRow,
    PointFilter,
    PowerNote,
    Store,
    Touching,
    forget_power,
    load_description,
    note_powers,
    select_cruise,
)

COLUMNS: Final = ("point", "power_pct", "u_power_pct", "basis", "note")
_TABLE: Final = (
    table_column("point", "point number", "point no", "test point", "id", kind=NUMBER),
    *columns_named(COLUMNS[1:], power_pct=("power", "percent power", "power percent")),
)


@dataclass(frozen=True)
class PowersNoted:
    """How many runs got a power, and how many of them were new or changed."""

    runs: int
    changed: int


@dataclass(frozen=True, kw_only=True)
class CruiseRun:
    """A run whose power is noted; `viw_kt`, `piw_pct` None and `why_not` filled if not usable.

    `power_now_pct` is the power in the air of the day.
    """

    point: int
    airframe: str
    flown_on: str
    engine: str
    propeller: str
    power_pct: float
    u_power_pct: float
    basis: str
    origin: str
    power_now_pct: float | None
    tas_kt: float | None
    pressure_altitude_ft: float
    weight_kg: float
    viw_kt: float | None
    piw_pct: float | None
    note: str
    why_not: str


@dataclass(frozen=True)
class CruiseList:
    """Runs whose power is noted."""

    runs: tuple[CruiseRun, ...]


def note_power(
    store: Store,
    points: Sequence[int],
    power_pct: float,
    u_power_pct: float = U_POWER_PCT,
    standard_air: bool = False,
    note: str = "",
) -> PowersNoted:
    """Note one power for some runs.

    Args:
        points: Their points.
        power_pct, u_power_pct: In % of rated power, with its standard uncertainty.
        standard_air: Whether it is a chart's power at standard temperature.

    Raises:
        DataError: If a point is not in the store or the power cannot be.
    """
    basis = STANDARD_AIR if standard_air else ACTUAL
    ids = sorted(set(points))
    notes = [
        PowerNote(
            point_id=p,
            power_pct=power_pct,
            u_power_pct=u_power_pct,
            basis=basis,
            origin="hand",
            note=note,
        )
        for p in ids
    ]
    return PowersNoted(len(ids), _written(store, notes))


def note_powers_file(store: Store, path: Path, tell: Tell = silent) -> PowersNoted:
    """Note powers from a CSV file; all or none.

    Args:
        path: Columns ``point,power_pct`` and, if wanted, ``u_power_pct,basis,note``.
        tell: Called with how the file was read, if it is not written in the usual way.

    Raises:
        DataError: If the file is malformed, or as `note_power`.
    """
    table = read_plain_table(path, _TABLE, tell)
    for column in COLUMNS[:2]:
        if column not in table.headings:
            raise MissingColumnError(
                f"{table.name}: the column {column!r} is missing",
                f"the columns are {', '.join(COLUMNS)}",
            )
    notes = [_note(row) for row in table.rows]
    return PowersNoted(len(notes), _written(store, notes))


def _written(store: Store, notes: Sequence[PowerNote]) -> int:
    points = [note.point_id for note in notes]
    return store.write(lambda session: note_powers(session, notes), Touching(points=points))


def _note(row: FileRow) -> PowerNote:
    point, u = row.integer("point"), row.number("u_power_pct")
    if point is None:
        raise row.wrong("the cell is empty", "'fleetcal points list' has the numbers", "point")
    return PowerNote(
        point_id=point,
        power_pct=row.required("power_pct"),
        u_power_pct=U_POWER_PCT if u is None else u,
        basis=row.choice("basis", (ACTUAL, STANDARD_AIR), ACTUAL),
        origin="file",
        note=row.text("note"),
    )


def forget(store: Store, point: int) -> None:
    """Take the power of a run out of the store.

    Raises:
        UnknownNameError: If none is noted.
    """
    store.write(lambda session: forget_power(session, point), Touching(points=(point,)))


def list_cruise(store: Store, type_name: str | None) -> CruiseList:
    """List the runs whose power is noted.

    Args:
        type_name: All types when None.

    Raises:
        UnknownNameError: If the type is not in the store.
    """
    with store.reading() as session:
        description = load_description(session)
        name = find_type(description, type_name).name if type_name else None
        rows = select_cruise(session, PointFilter(type=name))
    weights = {kind.name: kind.reference_weight_kg for kind in description.types}
    return CruiseList(tuple(_listed(row, weights[row.point.type]) for row in rows))


def _listed(row: CruiseRow, reference_weight_kg: float) -> CruiseRun:
    point, power = row.point, row.power
    against = why_not(row)
    flight: LevelFlight | None = None
    if point.accepted and not against:
        flight = cruise_runs([row], reference_weight_kg, [0], [0]).flight
    return CruiseRun(
        point=point.point_id,
        airframe=point.airframe,
        flown_on=point.flown_on.isoformat(),
        engine=point.engine,
        propeller=point.propeller,
        power_pct=power.power_pct,
        u_power_pct=power.u_power_pct,
        basis=power.basis,
        origin=power.origin,
        power_now_pct=None if flight is None else 100.0 * float(np.asarray(flight.power)[0]),
        tas_kt=point.tas_kt,
        pressure_altitude_ft=point.pressure_altitude_ft,
        weight_kg=point.weight_kg,
        viw_kt=None if flight is None else float(flight.viw[0]),
        piw_pct=None if flight is None else 100.0 * float(flight.piw[0]),
        note=power.note,
        why_not=against,
    )
