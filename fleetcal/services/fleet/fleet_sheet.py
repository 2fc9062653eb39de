"""A fleet in a spreadsheet: its rows, read and checked one by one."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Final

from fleetcal.errors import MissingColumnError
from fleetcal.services.fleet.fleet_file import speeds_are_known
from fleetcal.services.fleet.new_airframe import spelt_out
from fleetcal.services.fleet.sheet_columns import COLUMNS, FIT, TYPE_NUMBERS
from fleetcal.services.plain_table import Tell, read_plain_table, silent
from fleetcal.services.point_cells import FileRow
from fleetcal.store import PITCHES

_LARGEST: Final = {"kt": 1000.0, "kg": 100_000.0, "m2": 1000.0}
_TEXTS: Final = ("type", *FIT, "fit_note", "registration", "note", "speeds_are")


@dataclass(frozen=True, kw_only=True)
class SheetRow:
    """One row: an airframe and what it carries from a day on; what is not filled in is missing.

    Attributes:
        texts, numbers: By column.
        from_date: None where no day is given.
    """

    line: FileRow
    tag: str
    from_date: date | None
    texts: Mapping[str, str]
    numbers: Mapping[str, float]

    def value(self, column: str) -> str | float | None:
        """Return what a column says, None where it is not filled in."""
        return self.texts.get(column, self.numbers.get(column))


def read_fleet_sheet(path: Path, tell: Tell = silent) -> tuple[SheetRow, ...]:
    """Read the rows of a fleet in a spreadsheet, saved as CSV in any form.

    Raises:
        DataError: If the file cannot be read, a cell is wrong, or names differ in capitals or
            blanks only; the message names line and column.
    """
    table = read_plain_table(path, COLUMNS, tell)
    if "airframe" not in table.headings:
        raise MissingColumnError(
            f"{table.name}: no column airframe",
            "head the column of tags 'airframe' or 'tag'; a tag is the public name of an aircraft",
        )
    rows = tuple(_row(line) for line in table.rows)
    for column in ("airframe", "type", *FIT):
        _refuse_two_spellings(rows, column)
    return rows


def _row(line: FileRow) -> SheetRow:
    for column, text in line.cells.items():
        if not text.isprintable():
            raise line.wrong(f"{text!r} is not a line of text", "write one line", column)
    tag = line.text("airframe")
    if not tag:
        raise line.wrong("the cell is empty", "every row needs the tag of an airframe", "airframe")
    texts = {name: text for name in _TEXTS if (text := line.text(name))}
    chosen = {
        "pitch": line.choice("pitch", PITCHES, ""),
        "temperature_shows": line.choice("temperature_shows", ("", "ambient", "probe"), ""),
    }
    factor = line.number("recovery_factor")
    if factor is not None and (chosen["temperature_shows"] != "probe" or not 0.0 < factor <= 1.0):
        raise line.wrong(
            f"{factor:g} is of a probe, and at most 1",
            "write 'probe' under temperature_shows with it",
            "recovery_factor",
        )
    if not speeds_are_known(line.text("speeds_are")):
        raise line.wrong(
            f"{line.text('speeds_are')!r} is not known",
            "write 'CAS', or 'IAS on' and a static source of the type, or leave it empty",
            "speeds_are",
        )
    numbers = {name: value for name in TYPE_NUMBERS if (value := _number(line, name)) is not None}
    return SheetRow(
        line=line,
        tag=tag,
        from_date=line.day("from") if line.text("from") else None,
        texts=texts | {name: word for name, word in chosen.items() if word},
        numbers=numbers | ({} if factor is None else {"recovery_factor": factor}),
    )


def _number(line: FileRow, column: str) -> float | None:
    value = line.number(column)
    largest = _LARGEST[column.rpartition("_")[2]]
    if value is not None and not 0.0 < value <= largest:
        raise line.wrong(
            f"{value:g} is not above 0 and up to {largest:g}", "check the unit and the cell", column
        )
    return value


def _refuse_two_spellings(rows: tuple[SheetRow, ...], column: str) -> None:
    """Refuse names that a reader takes for one, and the store for two."""
    first: dict[tuple[str, ...], tuple[str, int]] = {}
    for row in rows:
        text = row.line.text(column)
        before, line = first.setdefault(_spelt(column, text), (text, row.line.line))
        if before != text:
            raise row.line.wrong(
                f"{text!r} is {before!r} of line {line}, spelt otherwise",
                "write every name in one way; other names are other equipment",
                column,
            )


def refuse_spelling_of_store(row: SheetRow, column: str, known: tuple[str, ...]) -> None:
    """Refuse a name that the store has, spelt otherwise.

    Raises:
        MalformedFileError: If so.
    """
    text = row.line.text(column)
    same = [name for name in known if _spelt(column, name) == _spelt(column, text)]
    if text and same and text not in same:
        raise row.line.wrong(
            f"the store has {text!r} as {same[0]!r}", "write it as the store has it", column
        )


def _spelt(column: str, name: str) -> tuple[str, ...]:
    """Return what of a name counts for a reader; of tags as everywhere."""
    return spelt_out(name) if column == "airframe" else ("".join(name.casefold().split()),)
