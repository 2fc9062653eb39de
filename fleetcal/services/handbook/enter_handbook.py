"""Enter a handbook's table and speeds from CSV files, and list what the store has."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from fleetcal.errors import EmptyFileError, MalformedFileError, MissingColumnError
from fleetcal.services.curves.groups import find_group, find_type
from fleetcal.services.handbook.handbook_table import handbooks_of
from fleetcal.services.plain_table import PlainTable, Tell, read_plain_table, silent
from fleetcal.services.plausible_weight import require_plausible_weight
from fleetcal.services.table_words import columns_named
from fleetcal.store import (
    FleetDescription,
    HandbookDescription,
    SaveCounts,
    StaticSourceDescription,
    Store,
    TypeDescription,
    load_description,
    revise_description,
)

if TYPE_CHECKING:
    from sqlalchemy.orm import Session


@dataclass(frozen=True, kw_only=True)
class HandbookTitle:
    """What names a handbook table, and the weight it was published for.

    Attributes:
        static_source: That the handbook was flown with; one of its own when None.
        type: The only one when None.
        weight_kg: The type's reference weight when None.
    """

    name: str
    static_source: str | None = None
    flap_setting: str = "up"
    type: str | None = None
    weight_kg: float | None = None


@dataclass(frozen=True)
class EnteredHandbook:
    """A handbook table as it was entered."""

    title: str
    lines: int
    speeds: int
    outcome: str


@dataclass(frozen=True, kw_only=True)
class HandbookLine:
    """A handbook table as it is listed."""

    type: str
    static_source: str
    flap_setting: str
    name: str
    weight_kg: float
    lines: int
    slowest_kt: float | None
    fastest_kt: float | None
    speeds: str


@dataclass(frozen=True)
class HandbookList:
    """All handbook tables in the store."""

    handbooks: tuple[HandbookLine, ...]


def enter_handbook(
    store: Store, title: HandbookTitle, lines: Path, speeds: Path | None, tell: Tell = silent
) -> EnteredHandbook:
    """Enter a handbook's table; one of the same title is replaced.

    Args:
        lines: CSV with the columns ``ias_kt,cas_kt``.
        speeds: CSV with the columns ``speed,ias_kt``.
        tell: Called with how a file was read, if it is not written in the usual way.

    Raises:
        DataError: If a file is malformed, a speed is not above zero or given twice, or a name is
            not in the store.
    """
    rows = _pairs(lines, tell)
    named = () if speeds is None else _speeds(speeds, tell)

    def work(session: Session) -> tuple[SaveCounts, HandbookDescription]:
        description = load_description(session)
        kind = find_type(description, title.type)
        kind, source = _with_source(description, kind, title)
        weight = kind.reference_weight_kg if title.weight_kg is None else title.weight_kg
        require_plausible_weight(weight, kind.name, kind.reference_weight_kg)
        book = HandbookDescription(
            type=kind.name,
            static_source=source,
            flap_setting=title.flap_setting,
            name=title.name.strip(),
            weight_kg=weight,
            rows=rows,
            speeds=named,
        )
        new = FleetDescription(types=(kind,), handbooks=(book,))
        return revise_description(session, new), book

    counts, book = store.write(work)
    outcome = "added" if counts.added else "changed" if counts.changed else "unchanged"
    shown = f"{book.name} ({book.type}, {book.static_source}, flaps {book.flap_setting})"
    return EnteredHandbook(shown, len(rows), len(named), outcome)


def _with_source(
    description: FleetDescription, kind: TypeDescription, title: HandbookTitle
) -> tuple[TypeDescription, str]:
    """Return the type with the static source of the handbook, and the name of that."""
    if title.static_source is not None:
        return kind, find_group(description, kind, title.static_source).static_source
    name = f"port of the handbook {title.name.strip()!r}"
    if all(one.name != name for one in kind.static_sources):
        own = StaticSourceDescription(name, "as the handbook was flown, not described further")
        kind = replace(kind, static_sources=(*kind.static_sources, own))
    return kind, name


def _pairs(path: Path, tell: Tell) -> tuple[tuple[float, float], ...]:
    table = read_plain_table(path, columns_named(("ias_kt", "cas_kt")), tell)
    _require(table, ("ias_kt", "cas_kt"))
    rows = tuple((_knots(table, i, "ias_kt"), _knots(table, i, "cas_kt")) for i in _each(table))
    if len(rows) < 2:
        raise EmptyFileError(
            f"{path.name}: one line makes no table", "give every line of the printed table"
        )
    return rows


def _speeds(path: Path, tell: Tell) -> tuple[tuple[str, float], ...]:
    table = read_plain_table(path, columns_named(("speed", "ias_kt")), tell)
    _require(table, ("speed", "ias_kt"))
    return tuple((table.rows[i].cells["speed"], _knots(table, i, "ias_kt")) for i in _each(table))


def _each(table: PlainTable) -> range:
    return range(len(table.rows))


def _require(table: PlainTable, columns: tuple[str, ...]) -> None:
    for column in columns:
        if column not in table.headings:
            raise MissingColumnError(
                f"{table.name}: the column {column!r} is missing",
                f"the columns are {', '.join(columns)}",
            )


def _knots(table: PlainTable, index: int, column: str) -> float:
    row = table.rows[index]
    text = row.cells[column]
    try:
        value = float(text)
    except ValueError:
        value = float("nan")
    if not 0.0 < value < 1000.0:
        raise MalformedFileError(
            f"{table.name}, line {row.line}, column {column}: {text!r} is not a speed in knots",
            "write a number above zero",
        )
    return value


def list_handbooks(store: Store) -> HandbookList:
    """List the handbook tables in the store."""
    with store.lookup() as session:
        description = load_description(session)
    return HandbookList(tuple(_listed(book) for book in handbooks_of(description, None)))


def _listed(book: HandbookDescription) -> HandbookLine:
    speeds = [ias for ias, _ in book.rows]
    return HandbookLine(
        type=book.type,
        static_source=book.static_source,
        flap_setting=book.flap_setting,
        name=book.name,
        weight_kg=book.weight_kg,
        lines=len(book.rows),
        slowest_kt=min(speeds) if speeds else None,
        fastest_kt=max(speeds) if speeds else None,
        speeds=", ".join(f"{name} {ias:g}" for name, ias in book.speeds),
    )
