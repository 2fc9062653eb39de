"""A list of legs that somebody chose: written in a file, or given as values."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from fleetcal.errors import MalformedFileError, MissingColumnError
from fleetcal.services.flights.run_lines import LEFT_OUT, LegLine
from fleetcal.services.plain_table import PlainTable, read_plain_table
from fleetcal.services.table_words import columns_named

_NEEDED: Final = ("run", "start_s", "stop_s")
_COLUMNS: Final = columns_named(LegLine.LISTED)
#: The name that a list has which came as values.
_UNWRITTEN: Final = "legs.csv"


@dataclass(frozen=True, kw_only=True)
class ChosenLeg:
    """One leg as it is to be cut.

    Attributes:
        run: From 1.
        start_s, stop_s: From the first sample.
        place: Where it is written; its run and times stand in for it.
    """

    run: int
    start_s: float
    stop_s: float
    place: str = ""

    @property
    def where(self) -> str:
        """How a complaint names it."""
        times = f"from {self.start_s:g} to {self.stop_s:g} s"
        return self.place or f"the leg of run {self.run} {times}"


@dataclass(frozen=True, kw_only=True)
class LegList:
    """Legs that are used in place of those found.

    Attributes:
        name: Of the file.
        sha256: Of its bytes, or of what they would be.
        legs: None of them left out.
        understood: How the file was read, where it is in no usual form.
        written: Whether there is such a file.
    """

    name: str
    sha256: str
    legs: tuple[ChosenLeg, ...]
    understood: tuple[str, ...] = ()
    written: bool = True

    def wrong(self, leg: ChosenLeg, what: str, hint: str) -> MalformedFileError:
        """Return the error for something wrong with a leg."""
        where = f"{self.name}, {leg.where}" if self.written else leg.where
        return MalformedFileError(f"{where}: {what}", hint)

    def noted(self, count: int) -> str:
        """Return in words that this many legs were cut."""
        return f"{count} legs cut {f'as listed in {self.name}' if self.written else 'by hand'}"

    def document(self, cut: Sequence[ChosenLeg]) -> dict[str, Any]:
        """Return what is kept of it with the sortie.

        Args:
            cut: By run, with the times of their first and last samples.
        """
        rows = [{"run": leg.run, "start_s": leg.start_s, "stop_s": leg.stop_s} for leg in cut]
        return {"name": self.name, "sha256": self.sha256, "legs": rows}


def read_leg_list(path: Path) -> LegList:
    """Read a list of legs.

    Args:
        path: CSV with columns run, start_s and stop_s, as legs are listed; other columns of that
            list may stand and are not looked at, but a row whose outcome is ``left out`` counts for
            nothing.

    Raises:
        DataError: If the file is wrong, or leaves every leg out.
    """
    understood: list[str] = []
    table = read_plain_table(path, _COLUMNS, understood.append)
    missing = [name for name in _NEEDED if name not in table.headings]
    if missing:
        raise MissingColumnError(
            f"{table.name}: no column {' or '.join(missing)}",
            "a list to start from is printed by --format csv --rows legs",
        )
    legs = tuple(_rows(table))
    if not legs:
        raise MalformedFileError(f"{table.name}: every leg is left out", "leave some legs in")
    return LegList(
        name=table.name, sha256=table.sha256, legs=legs, understood=tuple(understood), written=True
    )


def _rows(table: PlainTable) -> Iterator[ChosenLeg]:
    for line in table.rows:
        if line.text("outcome") == LEFT_OUT:
            continue
        start_s, stop_s = line.required("start_s"), line.required("stop_s")
        number = line.integer("run")
        if number is None or number < 1:
            raise line.wrong("no number of a run", "number the runs from 1", "run")
        yield ChosenLeg(run=number, start_s=start_s, stop_s=stop_s, place=f"line {line.line}")


def legs_as_values(legs: Sequence[ChosenLeg]) -> LegList:
    """Return a list of legs that came as values.

    Raises:
        MalformedFileError: If there is none.
    """
    if not legs:
        raise MalformedFileError("every leg is left out", "leave some legs in")
    text = leg_list_csv(legs)
    return LegList(
        name=_UNWRITTEN,
        sha256=hashlib.sha256(text.encode()).hexdigest(),
        legs=tuple(legs),
        written=False,
    )


def leg_list_csv(legs: Sequence[ChosenLeg]) -> str:
    """Return a list of legs as a file that `read_leg_list` reads."""
    rows = [f"{leg.run},{leg.start_s!r},{leg.stop_s!r}" for leg in legs]
    return "\n".join([",".join(_NEEDED), *rows, ""])
