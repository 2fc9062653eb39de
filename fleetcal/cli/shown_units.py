"""Units of what people read: speed in kt, mph or km/h; weight in kg or lb; height in ft or m.

Results are in kt, kg and ft, and so stay JSON and CSV, as the names of their fields state. A
table for people converts its columns by the unit that their names end in, and a sentence
converts every number that stands before one of the three units. What a sentence says of speeds
in rounds (``at least 2 kt``) gets a decimal more, so that it can be turned back.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Final

import click

from fleetcal.cli.preferred import preferred
from fleetcal.cli.shared_options import chosen
from fleetcal.wording import decimal, with_sign

#: By the unit that results have: name of the option, and the units that people may choose.
CHOICES: Final = {
    "kt": ("speed_unit", ("kt", "mph", "km/h")),
    "kg": ("weight_unit", ("kg", "lb")),
    "ft": ("height_unit", ("ft", "m")),
}
_IN_NAMES: Final = {"km/h": "kmh"}
# Of the unit: below this a number without decimals gets one.
_SMALL: Final = {"kt": 20.0, "kg": 20.0, "ft": 100.0}
_NUMBER: Final = r"[+-]?\d+(?:\.\d+)?"
_JOINED: Final = r"(?:,\s+|\s+(?:to|and|or|by|/)\s+|\.\.|/|\s*±\s*|\s+\+/-\s*|,\s+(?:and|or)\s+)"
_AMOUNT: Final = re.compile(
    rf"(?<![\w.:+-])(±?{_NUMBER}(?:{_JOINED}{_NUMBER})*)(\s+)(kt|kg|ft)(?![\w/])"
)
# A range in brackets behind an amount: "0.9 kt too fast (0.3 to 1.5)", "1.2 kt (0.8 to 1.6)".
_RANGE: Final = re.compile(
    rf"({_NUMBER}\s+(kt|kg|ft)(?:\s+too\s+(?:fast|slow|much|little|high|low))?\s+\()"
    rf"({_NUMBER}\s+to\s+{_NUMBER})(?=\))"
)
# A number after one of these is a number of something, and no part of a list of speeds.
_COUNTED: Final = re.compile(
    r"\b(?:sortie|run|point|leg|flight|order|issue|number|page|revision|track|heading)s?\s+$"
)
# A name of a column that a line explains.
_EXPLAINED: Final = re.compile(r"\b\w+_(?:kt|kg|ft)(?=: )")
_LIMIT: Final = re.compile(rf"(Limit, [a-z ]+:\s+)({_NUMBER})(\s+)(kt)(?![\w/])")


@dataclass(frozen=True)
class ShownColumn:
    """How a column of a printed table is shown.

    Attributes:
        heading: With the unit that is shown.
        factor: By which its values are multiplied.
        rounded: Whether a column without decimals goes on without.
    """

    heading: str
    factor: float = 1.0
    rounded: bool = True


def shown_unit(unit: str) -> str:
    """Return the unit that people are shown in the place of one that results have.

    Args:
        unit: ``kt``, ``kg`` or ``ft``; any other is returned as it is, and so are these outside a
            command.

    Raises:
        DataError: If what is preferred is damaged or no unit.
    """
    context = click.get_current_context(silent=True)
    if unit not in CHOICES or context is None:
        return unit
    option, known = CHOICES[unit]
    return chosen(option, context) or preferred(option, context, known) or unit


def shown_column(name: str, signed: bool = False) -> ShownColumn:
    """Return how a column is shown, by the unit that its name ends in.

    Args:
        name: Such as ``ias_kt``.
        signed: Whether it holds corrections, which are small.
    """
    stem, _, unit = name.rpartition("_")
    other = shown_unit(unit)
    if other == unit:
        return ShownColumn(name)
    rounded = unit != "kt" and not signed
    return ShownColumn(f"{stem}_{_IN_NAMES.get(other, other)}", _factor(unit, other), rounded)


def shown_amount(value: float, unit: str, places: int = 0, sign: bool = False) -> str:
    """Return a value with its unit, such as ``1323 lb`` for 600 kg.

    Args:
        value: In ``unit``: kt, kg or ft.
        places: Decimals.
        sign: Whether a plus is printed.
    """
    other = shown_unit(unit)
    converted = value if other == unit else value * _factor(unit, other)
    return f"{(with_sign if sign else decimal)(converted, places)} {other}"


def in_shown_units(text: str) -> str:
    """Return a text with every speed, weight and height in the unit that people are shown.

    Args:
        text: Of any number of lines; amounts are written as ``60 kt``, ``50 to 80 kt``,
            ``3.1 ± 0.4 kt``. Rates such as ft/min and kg/h are left as they are.
    """
    if all(shown_unit(unit) == unit for unit in CHOICES):
        return text
    text = _EXPLAINED.sub(lambda name: shown_column(name[0]).heading, text)
    return _AMOUNT.sub(_converted, _LIMIT.sub(_limit, _RANGE.sub(_range, text)))


def _range(found: re.Match[str]) -> str:
    """Return an amount as it is, and the range behind it in the unit shown."""
    before, unit, numbers = found.groups()
    other = shown_unit(unit)
    if other == unit:
        return found[0]
    factor = _factor(unit, other)
    return before + re.sub(_NUMBER, lambda one: _rounded(one[0], factor, _SMALL[unit]), numbers)


def _limit(found: re.Match[str]) -> str:
    """Return a limit in the unit shown, never above what it was."""
    other = shown_unit("kt")
    if other == "kt":
        return found[0]
    value = math.floor(float(found[2]) * _factor("kt", other) + 1e-9)
    return f"{found[1]}{value}{found[3]}{other}"


def _converted(found: re.Match[str]) -> str:
    numbers, blank, unit = found.groups()
    other = shown_unit(unit)
    if other == unit:
        return found[0]
    first = re.match(rf"±?{_NUMBER}", numbers)
    kept = ""
    if first and len(first[0]) < len(numbers) and _COUNTED.search(found.string[: found.start()]):
        joint = re.match(_JOINED, numbers[len(first[0]) :])
        kept = first[0] + (joint[0] if joint else "")
    factor = _factor(unit, other)
    listed = re.sub(
        _NUMBER, lambda one: _rounded(one[0], factor, _SMALL[unit]), numbers[len(kept) :]
    )
    return f"{kept}{listed}{blank}{other}"


def _rounded(text: str, factor: float, small: float) -> str:
    value = float(text)
    places = len(text.partition(".")[2])
    if places == 0 and 0.0 < abs(value) < small:
        places = 1
    return (with_sign if text.startswith("+") else decimal)(value * factor, places)


def _factor(unit: str, other: str) -> float:
    from fleetcal.services.units_shown import factor_between

    return factor_between(unit, other)
