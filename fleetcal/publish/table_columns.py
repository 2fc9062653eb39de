"""The columns of a table, for people and for programs, and its lines as words under them.

Page, PDF and Markdown print these rows, CSV and JSON those values, so that a column stands
here once for all of them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Final

from fleetcal.plain_text import signed
from fleetcal.publish.band_words import ITS_GROUP, ITS_OWN, from_group
from fleetcal.publish.pooled_table import PooledTable
from fleetcal.publish.table_form import TableForm
from fleetcal.publish.table_lines import Band, TableLine, first_beyond, given_places, table_lines
from fleetcal.publish.table_words import bound_words
from fleetcal.wording import decimal


@dataclass(frozen=True, kw_only=True)
class TableColumn:
    """One column.

    Attributes:
        heading: With soft hyphens where it may break.
        words: What a line that has values shows; a band as ``low to high``.
        kind: ``given``, ``correction``, ``band`` or nothing: how it stands out.
    """

    heading: str
    unit: str
    words: Callable[[TableLine], str]
    kind: str = ""

    @property
    def plain_heading(self) -> str:
        """The heading without hyphens."""
        return self.heading.replace("\u00ad", "")


@dataclass(frozen=True)
class ProgramColumn:
    """One column of a file for programs; its unit ends its name.

    Attributes:
        value: A whole number has no decimals, any other is printed to so many places.
    """

    name: str
    value: Callable[[TableLine], float | None]
    places: int = 1


@dataclass(frozen=True, kw_only=True)
class PrintedRow:
    """One row: a cell for each column, or the first cell and a reason in place of the others.

    Attributes:
        bound: Whether the reason is the limit that the rows after it lie above.
        note: What is to be said below a row that has values.
    """

    cells: tuple[str, ...]
    reason: str = ""
    bound: bool = False
    note: str = ""


def table_columns(table: PooledTable) -> tuple[TableColumn, ...]:
    """Return the columns of a table."""
    own = table.airframe is not None
    return (
        *_speed_columns(table),
        *(_own_bands if own else _group_bands)(table),
        TableColumn(
            heading="Alti\u00adme\u00adter cor\u00adrec\u00adtion",
            unit="ft",
            words=_altimeter_words,
        ),
        *(_source_columns(table) if own else [_FLOWN_BY]),
    )


def _speed_columns(table: PooledTable) -> tuple[TableColumn, ...]:
    form, unit = table.form, table.form.speed_unit
    first, second = ("CAS", "IAS") if form.from_cas else ("IAS", "CAS")
    weight = f"at {table.weight_kg:.0f} kg, {unit}"
    places = given_places(table_lines(table))
    light = table.light_weight_kg is not None
    margin_column = TableColumn(
        heading=second,
        unit=f"at {table.light_weight_kg or 0.0:.0f} kg, {unit}",
        words=lambda line: _number(line.light),
    )

    return (
        TableColumn(
            heading=first,
            unit=unit if light else weight,
            words=lambda line: decimal(line.given, places),
            kind="given",
        ),
        TableColumn(
            heading="Cor\u00adrec\u00adtion",
            unit=weight if light else unit,
            words=lambda line: signed(line.correction or 0.0),
            kind="correction",
        ),
        TableColumn(
            heading=second,
            unit=weight if light or form.from_cas else unit,
            words=lambda line: _number(line.answer),
        ),
        *([margin_column] if light else []),
    )


def _group_bands(table: PooledTable) -> tuple[TableColumn, ...]:
    return (
        _band(table, "The group's mean", lambda line: line.mean),
        _band(table, "An\u00adother air\u00adcraft of the group", lambda line: line.following),
    )


def _own_bands(table: PooledTable) -> tuple[TableColumn, ...]:
    return (_band(table, "This air\u00adcraft", lambda line: line.following),)


def _band(
    table: PooledTable, heading: str, band: Callable[[TableLine], Band | None]
) -> TableColumn:
    shown = _number if table.form.from_cas else signed
    return TableColumn(
        heading=heading,
        unit=f"95\u00a0% band, {table.form.speed_unit}",
        words=lambda line: " to ".join(shown(end) for end in band(line) or ()),
        kind="band",
    )


def _source_columns(table: PooledTable) -> list[TableColumn]:
    """Return what the lines of an airframe's table rest on, if that is not the same for all."""
    column = TableColumn(
        heading="Rests on",
        unit="",
        words=lambda line: ITS_GROUP if line.from_group else ITS_OWN,
    )
    return [column] if from_group(table) else []


def program_columns(form: TableForm) -> tuple[ProgramColumn, ...]:
    """Return the columns of files for programs."""
    first, second, of = ("cas", "ias", "ias_") if form.from_cas else ("ias", "cas", "")
    unit = form.unit_in_names
    return (
        ProgramColumn(f"{first}_{unit}", lambda line: line.given),
        ProgramColumn(f"{second}_{unit}", lambda line: line.answer),
        ProgramColumn(f"correction_{unit}", lambda line: line.correction),
        ProgramColumn(f"{of}mean_low_{unit}", lambda line: line.mean and line.mean[0]),
        ProgramColumn(f"{of}mean_high_{unit}", lambda line: line.mean and line.mean[1]),
        ProgramColumn(f"{of}next_low_{unit}", lambda line: line.following and line.following[0]),
        ProgramColumn(f"{of}next_high_{unit}", lambda line: line.following and line.following[1]),
        ProgramColumn("altitude_correction_ft", lambda line: line.row.altitude_correction_ft, 0),
        ProgramColumn("airframes", lambda line: line.row.airframes, 0),
        ProgramColumn("flown_by", lambda line: line.row.flown_by, 0),
        ProgramColumn(f"{second}_at_light_weight_{unit}", lambda line: line.light),
    )


def own_columns(form: TableForm) -> tuple[ProgramColumn, ...]:
    """Return the columns for programs that only a table of one airframe has: its one band."""
    of, unit = "ias_" if form.from_cas else "", form.unit_in_names
    return (
        ProgramColumn(f"{of}low_{unit}", lambda line: line.following and line.following[0]),
        ProgramColumn(f"{of}high_{unit}", lambda line: line.following and line.following[1]),
    )


def printed_rows(table: PooledTable) -> Iterator[PrintedRow]:
    """Yield the rows of a table, with one for the limit before the lines above it."""
    columns, lines = table_columns(table), table_lines(table)
    bound = first_beyond(lines)
    for place, line in enumerate(lines):
        if place == bound:
            yield PrintedRow(cells=("",), reason=bound_words(table), bound=True)
        if line.answer is None:
            yield PrintedRow(cells=(columns[0].words(line),), reason=line.note)
        else:
            cells = tuple(column.words(line) for column in columns)
            # the lines of one airframe have a column for it
            yield PrintedRow(cells=cells, note="" if table.airframe else line.note.strip())


def _number(value: float | None) -> str:
    return "" if value is None else decimal(value)


def _altimeter_words(line: TableLine) -> str:
    height = line.row.altitude_correction_ft
    return "not given" if height is None else signed(height, 0)


def _flown_words(line: TableLine) -> str:
    """Return how many aircraft really read a speed; empty where it was not counted."""
    return "" if line.row.flown_by is None else str(line.row.flown_by)


_FLOWN_BY: Final = TableColumn(heading="Flown by", unit="", words=_flown_words)
