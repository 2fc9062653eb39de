"""Points as CSV: the bulk way in for older results, and the way out.

A file is hashed once and then read in blocks of 20,000 rows, checked and reduced as arrays:
an object for each row took 320 microseconds a point, this takes 20. A block with anything
unusual is read row by row by the code that can name line and column, so there is one set of
rules and one wording.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Final

import numpy as np

from fleetcal.errors import DataError, MissingColumnError
from fleetcal.plain_text import guarded_cell
from fleetcal.records import Point, names_of
from fleetcal.services.large_error import large_errors_words
from fleetcal.services.plain_blocks import PlainBlocks, open_blocks
from fleetcal.services.plain_table import Tell, silent
from fleetcal.services.points.add_points import PointsAdding
from fleetcal.services.points.doubted_rows import not_accepted_words
from fleetcal.services.points.point_rows import PART_COLUMNS
from fleetcal.services.repeated_flight import ANOTHER, INSTEAD, NOTHING
from fleetcal.services.table_words import columns_named
from fleetcal.store import (
    BulkFlights,
    Store,
    StoredPoint,
    Touching,
    add_source,
    find_source,
)

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

_OWN: Final = [name for name in names_of(Point) if name != "number"]
_PARTS_AT: Final = _OWN.index("u_kappa") + 1
#: Of a file of points. The number of a point follows from its place.
COLUMNS: Final = (
    *("airframe", "flown_on", "sortie"),
    *(*_OWN[:_PARTS_AT], *PART_COLUMNS, *_OWN[_PARTS_AT:]),
    "barred",
)
_TABLE: Final = columns_named(COLUMNS, vic_kt=("ias", "airspeed", "indicated airspeed", "asi"))
_NEEDED: Final = ("airframe", "flown_on", "weight_kg", "vic_kt", "pressure_altitude_ft")


@dataclass(frozen=True, kw_only=True)
class PointsImported:
    """What an import added; `known_already` when the same content was there."""

    file: str
    points: int
    sorties: int
    known_already: bool
    warnings: tuple[str, ...] = ()


def points_csv(points: Sequence[StoredPoint]) -> str:
    """Return points as CSV, in the columns that `import_points` reads.

    Returns:
        RFC 4180 with newlines as line ends; numbers to full precision, texts that a spreadsheet
        would run behind an apostrophe, which the import takes off.
    """
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(COLUMNS)
    for point in points:
        extra = {
            "sortie": str(point.sortie_id),
            **{column: _part(point, owner) for column, (owner, _) in PART_COLUMNS.items()},
            "accepted": "yes" if point.accepted else "no",
        }
        writer.writerow([extra[c] if c in extra else _cell(getattr(point, c)) for c in COLUMNS])
    return text.getvalue()


def import_points(
    store: Store, path: Path, tell: Tell = silent, repeat: str = NOTHING
) -> PointsImported:
    """Add the points of a CSV file, all or none.

    Args:
        path: Needs ``airframe, flown_on, weight_kg, vic_kt, pressure_altitude_ft`` and either
            ``kappa, u_kappa`` or ``dvpc_kt, u_dvpc_kt``; the other columns of `COLUMNS` may be left
            out. ``sortie`` keeps flights of one day apart.
        tell: Called with how the file was read, if it is not written as `points_csv` does.
        repeat: What flights are that the store seems to have from another file; of `REPEATS`.

    Raises:
        DataError: If the file or a cell is wrong; the message names line and column.
        RepeatedFlightError: If the store has a flight from another file and nobody said what it is.
    """
    file = open_blocks(path, _TABLE)
    if file.understood:
        tell(file.understood)
    _require_columns(file)

    def work(session: Session) -> PointsImported:
        if find_source(session, file.sha256) is not None:
            return PointsImported(file=file.name, points=0, sorties=0, known_already=True)
        source = add_source(session, file.sha256, file.name, "points")
        adding = PointsAdding(BulkFlights(session, source), may_know=repeat == INSTEAD)
        for block in file:
            adding.add(block)
        replaced = () if repeat == ANOTHER else adding.settle_repeats(session, file.name, repeat)
        return PointsImported(
            file=file.name,
            points=adding.points,
            sorties=adding.sorties,
            known_already=False,
            warnings=(
                *not_accepted_words(adding.doubted),
                *large_errors_words(adding.suspect),
                *replaced,
            ),
        )

    return store.write(work, _touching(file) if store.is_shared else None)


def _touching(file: PlainBlocks) -> Touching | None:
    """Return of which airframes a file has points; None, to let it be told, if it is wrong."""
    place = file.headings.index("airframe")
    try:
        tags = {row[place].strip() for _, cells in file.raw_blocks() for row in cells}
    except DataError:
        return None
    return Touching(airframes=sorted(tags))


def _part(point: StoredPoint, owner: str) -> str:
    return repr(float(np.sqrt(sum(t.u_kappa * t.u_kappa for t in point.terms if t.owner == owner))))


def _cell(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, str):
        return guarded_cell(value)
    return repr(value) if isinstance(value, float) else str(value)


def _require_columns(file: PlainBlocks) -> None:
    missing = [column for column in _NEEDED if column not in file.headings]
    pairs = (("kappa", "u_kappa"), ("dvpc_kt", "u_dvpc_kt"))
    if not any(set(pair) <= set(file.headings) for pair in pairs):
        missing.append("kappa, u_kappa (or dvpc_kt, u_dvpc_kt)")
    if missing:
        raise MissingColumnError(
            f"{file.name}, line 1: no column {'; '.join(missing)}",
            "'fleetcal points import --help' lists what a file of points needs",
        )
