"""Fields of forms, and what was typed into them read as text, numbers, days."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

from fleetcal.errors import DataError
from fleetcal.services.units_shown import factor_between

#: By the unit of a field: the others that may be written after a number.
UNITS: Final = {"kg": ("kg", "lb"), "kt": ("kt", "mph", "km/h"), "ft": ("ft", "m")}
_WRITTEN: Final = {"kmh": "km/h", "lbs": "lb", "kts": "kt", "kn": "kt"}
_NUMBER: Final = re.compile(r"([+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+))\s*([a-z/]*)", re.IGNORECASE)
_LONGEST: Final = 2000


@dataclass(frozen=True, kw_only=True)
class Field:
    """One field of a form.

    Attributes:
        kind: ``text``, ``number``, ``count``, ``day``, ``choice``, ``tick``, ``lines`` or ``file``.
        unit: Of a number.
        advice: What to type, with an example.
        choices: Value and words of each choice.
        suggestions: What others were called; something else may be typed.
    """

    name: str
    label: str
    kind: str = "text"
    required: bool = False
    unit: str = ""
    advice: str = ""
    choices: Sequence[tuple[str, str]] = ()
    suggestions: Sequence[str] = ()
    low: float = -math.inf
    high: float = math.inf


class FieldsError(DataError):
    """Something that was typed cannot be understood.

    Attributes:
        fields: What is wrong, by name of the field.
    """

    def __init__(self, fields: Mapping[str, str]) -> None:
        first, *others = fields.values()
        super().__init__(first, "correct the marked fields" if others else "correct that field")
        self.fields = dict(fields)


@dataclass(frozen=True)
class Typed:
    """What was typed, understood; a field without an answer is not there."""

    values: Mapping[str, str | float | date]

    def text(self, name: str) -> str:
        """Return words, empty if there are none."""
        return str(self.values.get(name, ""))

    def number(self, name: str) -> float | None:
        """Return a number in the unit of its field."""
        value = self.values.get(name)
        return value if isinstance(value, float) else None

    def count(self, name: str) -> int | None:
        """Return a whole number."""
        value = self.number(name)
        return None if value is None else int(value)

    def day(self, name: str) -> date | None:
        """Return a day."""
        value = self.values.get(name)
        return value if isinstance(value, date) else None

    def tick(self, name: str) -> bool:
        """Return whether a box is ticked."""
        return name in self.values


def read_fields(fields: Sequence[Field], typed: Mapping[str, str]) -> Typed:
    """Return what was typed into fields.

    Raises:
        FieldsError: If something required is missing, or cannot be understood.
    """
    found: dict[str, str | float | date] = {}
    wrong: dict[str, str] = {}
    for field in fields:
        if field.kind == "file":
            continue
        text = typed.get(field.name, "").strip()
        if not text:
            if field.required:
                wrong[field.name] = f"{field.label}: nothing was given, and it is needed"
            continue
        try:
            found[field.name] = _read(field, text)
        except ValueError as error:
            wrong[field.name] = f"{field.label}: {error}"
    if wrong:
        raise FieldsError(wrong)
    return Typed(found)


def _read(field: Field, text: str) -> str | float | date:
    """Return what one field holds; a ValueError says what is wrong with it."""
    if len(text) > _LONGEST:
        raise ValueError(f"that is longer than the {_LONGEST} letters that fit")
    if field.kind in ("number", "count"):
        return _number(field, text)
    if field.kind == "day":
        try:
            return date.fromisoformat(text)
        except ValueError as error:
            raise ValueError(f"{text!r} is not a date; write YYYY-MM-DD") from error
    if field.kind == "choice" and text not in [value for value, _ in field.choices]:
        raise ValueError(f"{text!r} is not one of the choices")
    return text


def _number(field: Field, text: str) -> float:
    found = _NUMBER.fullmatch(text)
    units = UNITS.get(field.unit, ())
    if found is None:
        raise ValueError(f"{text!r} is not a number")
    written = found[2].lower()
    unit = _WRITTEN.get(written, written) or field.unit
    if unit != field.unit and unit not in units:
        known = f"write {' or '.join(units)}" if units else "write the number alone"
        raise ValueError(f"{found[2]!r} is not a unit of it; {known}")
    value = float(found[1].replace(",", "."))
    if unit != field.unit:
        value *= factor_between(unit, field.unit)
    if field.kind == "count" and not value.is_integer():
        raise ValueError(f"{text!r} is not a whole number")
    if not field.low <= value <= field.high:
        raise ValueError(f"{value:g}{_after(field)} is outside {_range(field)}")
    return value


def _after(field: Field) -> str:
    return f" {field.unit}" if field.unit else ""


def _range(field: Field) -> str:
    if math.isinf(field.high):
        return f"{field.low:g}{_after(field)} and more"
    return f"{field.low:g} to {field.high:g}{_after(field)}"
