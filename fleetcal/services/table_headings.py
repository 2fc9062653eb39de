"""Which column each heading of a table means: the exact name, everyday words, another unit."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from difflib import get_close_matches
from typing import Final

from fleetcal.errors import MalformedFileError
from fleetcal.flightlog.headings import Heading, take_apart
from fleetcal.flightlog.unit_words import unit_named
from fleetcal.services.table_columns import CONVERTIBLE, DATE, TEXT, KnownColumn
from fleetcal.services.table_dates import DAY_FIRST, MONTH_FIRST

_FILLERS: Final = frozenset({"of", "the", "in", "at", "as", "for", "on", "to", "by"})
_NO_UNIT: Final = "plain"
_AIRCRAFT: Final = re.compile(r"\ba/c\b", re.IGNORECASE)
_DEGREES: Final = re.compile(r"\bdeg(?:rees?)?[. ]+([cf])\b", re.IGNORECASE)


@dataclass(frozen=True, kw_only=True)
class MatchedHeading:
    """A heading that was understood.

    Attributes:
        written: As it stands in the file.
        place: Of its column, from 0.
        unit: That its cells are in, or the order of day and month; empty where there is none.
        unit_stated: Whether the heading says so.
    """

    column: KnownColumn
    written: str
    place: int
    unit: str
    unit_stated: bool

    @property
    def is_exact(self) -> bool:
        """Whether it is the exact heading."""
        return self.written == self.column.name

    @property
    def words(self) -> str:
        """How it was understood, for people."""
        other = self.column.unit and self.unit != self.column.unit
        return f"'{self.written}' = {self.column.name}" + (f" (from {self.unit})" if other else "")


def understood_words(matched: Sequence[MatchedHeading]) -> str:
    """Say how headings were understood that are no exact ones; empty if all are."""
    renamed = [m.words for m in matched if not m.is_exact]
    units = dict.fromkeys(m.unit for m in matched if not m.unit_stated)
    supposed = f"; units not named are taken as {', '.join(units)}" if units else ""
    return ", ".join(renamed) + supposed


class KnownHeadings:
    """Finds columns by headings.

    Args:
        columns: That may stand in a table.
    """

    def __init__(self, columns: Sequence[KnownColumn]) -> None:
        self.columns = columns
        self._exact = {column.name: column for column in columns}
        self._tokens: dict[frozenset[str], list[KnownColumn]] = {}
        self._words: dict[frozenset[str], list[KnownColumn]] = {}
        self._not_this: dict[frozenset[str], str] = {}
        self._spelt: dict[str, KnownColumn] = {}
        for column in columns:
            for text in (column.name, column.plain_name, *column.words):
                self._spelt.setdefault(text.lower().replace("_", " "), column)
                tokens, words = _keys(_apart(text))
                for known, key in ((self._tokens, tokens), (self._words, words)):
                    if column not in known.setdefault(key, []):
                        known[key].append(column)
            for text, advice in column.not_this.items():
                self._not_this[_keys(_apart(text))[0]] = advice

    def count(self, cells: Iterable[str]) -> int:
        """Count the cells that may be headings."""
        return sum(
            bool(cell) and (cell in self._exact or bool(self._meant(_apart(cell))))
            for cell in cells
        )

    def are_exact(self, cells: Sequence[str]) -> bool:
        """Tell whether all cells are exact headings, none twice."""
        return all(cell in self._exact for cell in cells) and len(set(cells)) == len(cells)

    def match(
        self, cells: Sequence[str], units: Sequence[str], where: str
    ) -> tuple[MatchedHeading, ...]:
        """Return what the headings mean, empty ones left out.

        Args:
            cells: The row of headings, stripped.
            units: A row of units, empty where none stands.
            where: File and line, for messages.

        Raises:
            MalformedFileError: If one is not known, can mean two columns, or two mean one.
        """
        found: dict[str, MatchedHeading] = {}
        for place, cell in enumerate(cells):
            if not cell:
                continue
            matched = self._matched(cell, units[place] if units else "", place, where)
            before = found.get(matched.column.name)
            if before is not None:
                raise MalformedFileError(
                    f"{where}: the columns {before.written!r} and {cell!r} both mean "
                    f"{matched.column.name}",
                    "keep one of them",
                )
            found[matched.column.name] = matched
        return tuple(found.values())

    def _matched(self, cell: str, unit_cell: str, place: int, where: str) -> MatchedHeading:
        heading = _apart(cell, unit_cell)
        exact = self._exact.get(cell)
        meant = [exact] if exact is not None else self._meant(heading)
        if not meant:
            raise self._unknown(cell, heading, where)
        fitting = [(column, unit) for column in meant if (unit := _unit_of(column, heading))]
        if not fitting:
            raise _other_unit(cell, meant[0], heading, where)
        if len(fitting) > 1:
            fitting = [(c, u) for c, u in fitting if u == (c.unit, True)] or fitting
        if len(fitting) > 1:
            names = " or ".join(column.name for column, _ in fitting)
            raise MalformedFileError(
                f"{where}: {cell!r} can mean {names}", "write one of these names above the column"
            )
        column, (given, stated) = fitting[0]
        return MatchedHeading(
            column=column, written=cell, place=place, unit=given, unit_stated=stated
        )

    def _meant(self, heading: Heading) -> list[KnownColumn]:
        tokens, words = _keys(heading)
        if not tokens or tokens in self._not_this:
            return []
        return self._tokens.get(tokens) or self._words.get(words) or []

    def _unknown(self, cell: str, heading: Heading, where: str) -> MalformedFileError:
        what = f"{where}: unknown column {cell!r}"
        advice = self._not_this.get(_keys(heading)[0])
        if advice:
            return MalformedFileError(what, advice)
        spelt = " ".join(heading.tokens) or cell.lower()
        near = get_close_matches(spelt, self._spelt, 1, 0.7)
        names = ", ".join(column.name for column in self.columns)
        begin = f"nearest is {self._spelt[near[0]].name}; " if near else ""
        return MalformedFileError(
            what, f"{begin}columns are {names}; take out a column that is none of them"
        )


def _other_unit(cell: str, column: KnownColumn, heading: Heading, where: str) -> MalformedFileError:
    needs = ", ".join(CONVERTIBLE[column.unit][1]) if column.unit else "no unit"
    return MalformedFileError(
        f"{where}: {cell!r} is in {heading.unit_texts[0]!r}, but {column.name} takes {needs}",
        "convert the column, or head it for what it is",
    )


def _apart(text: str, unit_cell: str = "") -> Heading:
    """Take a heading apart; `A/C`, `deg C` and `m²` are written by people and no recorder."""
    plain = _AIRCRAFT.sub("aircraft", _DEGREES.sub(r"deg\1", text)).replace("²", "2")
    return replace(take_apart(plain, unit_cell), text=text.strip())


def _keys(heading: Heading) -> tuple[frozenset[str], frozenset[str]]:
    """Return the words of a heading as written, and in one spelling."""
    return frozenset(heading.tokens) - _FILLERS, heading.words - _FILLERS


def _order_of(form: str) -> str:
    """Return which of day and month comes first in a form such as dd/mm/yyyy."""
    return {"d": DAY_FIRST, "m": MONTH_FIRST}.get(form[:1].lower(), "")


def _unit_of(column: KnownColumn, heading: Heading) -> tuple[str, bool] | None:
    """Return the unit of the cells and whether it is stated, None if it fits the column not."""
    if column.kind == TEXT or heading.text == column.name:
        return column.unit, True
    if column.kind == DATE:
        return "".join(_order_of(text) for text in heading.unit_texts[:1]), True
    if not column.unit:
        own = column.name.rpartition("_")[2]
        other = [t for t in heading.unit_texts if unit_named(t, _NO_UNIT) != "1" and t != own]
        return None if other else ("", True)
    kind, units = CONVERTIBLE[column.unit]
    for text in heading.unit_texts:
        unit = unit_named(text, kind)
        if unit in units:
            return unit, True
    return None if heading.unit_texts else (column.unit, False)
