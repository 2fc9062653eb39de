"""A column of a record: its unit, what it may hold, what it means.

A record is a dataclass whose fields are annotated with their column; the unit ends the name.
From these the store takes its rules, the share file its shape, files of points their columns
and their limits.
"""

from __future__ import annotations

import math
import types
from collections.abc import Mapping
from dataclasses import MISSING, dataclass, fields, replace
from functools import cache
from typing import TYPE_CHECKING, Any, Final, TypeVar, Union, get_args, get_origin, get_type_hints

if TYPE_CHECKING:
    from _typeshed import DataclassInstance

Record = TypeVar("Record", bound="DataclassInstance")

_UNITS: Final = {
    "kt": "kt",
    "ft": "ft",
    "ftmin": "ft/min",
    "deg": "deg",
    "degc": "degC",
    "kg": "kg",
    "s": "s",
    "pct": "%",
}


@dataclass(frozen=True, kw_only=True)
class RecordColumn:
    """One column.

    Attributes:
        kind: float, int, bool or str.
        may_be_empty: Whether None is allowed.
        needed: Whether it must be given, because it has no default.
        above: The value is larger than this.
        lowest, highest: Limits that the value may reach.
        believed: What a file may say, if less than that; beyond it unit or column are wrong.
        usual: What is measured, if less than that; beyond it a value is kept and not accepted.
        words: All values there are; empty if there are others.
        blank: Whether a text may be empty.
        since: First version of the share file that has it; in others it may be missing.
        listed: Whether a list for people shows it, with so many decimals and perhaps a plus.
    """

    means: str = ""
    name: str = ""
    kind: type = float
    may_be_empty: bool = False
    needed: bool = True
    above: float | None = None
    lowest: float | None = None
    highest: float | None = None
    believed: tuple[float, float] | None = None
    usual: tuple[float, float] | None = None
    words: tuple[str | int, ...] = ()
    blank: bool = False
    since: int = 1
    listed: bool = False
    decimals: int | None = None
    sign: bool = False

    @property
    def unit(self) -> str:
        """As `fleetcal.units` names it; empty for a number without one."""
        return _UNITS.get(self.name.rpartition("_")[2], "")

    @property
    def limits(self) -> tuple[float, float]:
        """What a file may say, both included."""
        low, high = self.lowest, self.highest
        every = (-math.inf if low is None else low, math.inf if high is None else high)
        return self.believed or every

    def fault(self, value: str | float) -> str:
        """Return what is wrong with a value of its kind, empty if nothing is."""
        if self.words:
            return "" if value in self.words else f"is none of {', '.join(map(str, self.words))}"
        if isinstance(value, str):
            return ""
        if self.above is not None and not value > self.above:
            return f"is not above {'zero' if self.above == 0.0 else f'{self.above:g}'}"
        low, high = self.lowest, self.highest
        if low is not None and value < low:
            return f"is below {low:g}"
        return f"is above {high:g}" if high is not None and value > high else ""


def column(means: str, **more: Any) -> RecordColumn:
    """Return a column that gets its name and kind from the field; `more` as in `RecordColumn`."""
    return RecordColumn(means=means, **more)


@cache
def columns_of(record: type[DataclassInstance]) -> Mapping[str, RecordColumn]:
    """Return the columns of a record by name, in their order."""
    hints = get_type_hints(record, include_extras=True)
    found = {}
    for field in fields(record):
        hint, *more = get_args(hints[field.name]) or (None,)
        for one in more:
            if isinstance(one, RecordColumn):
                kind, may_be_empty = _plain_type(hint)
                found[field.name] = replace(
                    one,
                    name=field.name,
                    kind=kind,
                    may_be_empty=may_be_empty,
                    needed=field.default is MISSING,
                )
    return types.MappingProxyType(found)


def names_of(record: type[DataclassInstance]) -> tuple[str, ...]:
    """Return the names of the columns of a record, in their order."""
    return tuple(columns_of(record))


def values_of(record: type[DataclassInstance], source: object) -> dict[str, Any]:
    """Return the columns of a record from anything that has them as attributes."""
    return {name: getattr(source, name) for name in columns_of(record)}


def content_of(record: type[DataclassInstance], values: Mapping[str, Any]) -> dict[str, Any]:
    """Return what a share file has of a record: an empty column is left out of it if it is new.

    So what was stored before the column came stays the same, and is recognised.

    Args:
        values: By column of the record.
    """
    columns = columns_of(record)
    return {n: v for n, v in values.items() if v is not None or columns[n].since == 1}


def part_of(record: type[Record], source: Any, **changes: Any) -> Record:
    """Return the record that a longer one holds, with some fields changed."""
    return record(**{field.name: getattr(source, field.name) for field in fields(record)} | changes)


def _plain_type(hint: Any) -> tuple[type, bool]:
    """Return the type of a field without None, and whether None was in it."""
    if get_origin(hint) in (Union, types.UnionType):
        kinds = [kind for kind in get_args(hint) if kind is not type(None)]
        return kinds[0], len(kinds) < len(get_args(hint))
    return hint, False
