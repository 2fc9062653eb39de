"""Weights, speeds and heights written with their unit: ``--weight 1290lb``.

An option whose name ends in its unit (``--weight-kg``) takes a plain number. The same name
without the unit takes a number with one, which is turned into the other before the command sees
it. A number without a unit is refused there: nobody should have to guess.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Sequence
from typing import Final

import click

from fleetcal.cli.option_types import Number

#: By the unit that ends the name of an option: the units it is taken in, with an example.
_UNITS: Final = {
    "kg": ("kg", "lb"),
    "kt": ("kt", "mph", "km/h"),
    "ft": ("ft", "m"),
}
_EXAMPLES: Final = {"kg": "1290lb", "kt": "48mph", "ft": "300m"}
_WRITTEN: Final = {"kmh": "km/h", "lbs": "lb", "kts": "kt", "kn": "kt"}
_AMOUNT: Final = re.compile(r"([+-]?\d+(?:\.\d*)?|[+-]?\.\d+)\s*([a-z/]*)", re.IGNORECASE)


def amount(text: str, unit: str) -> float:
    """Return a number with a unit in the unit that is needed.

    Args:
        text: Such as ``1290lb`` or ``1290 lb``.
        unit: ``kg``, ``kt`` or ``ft``.

    Raises:
        click.BadParameter: If it is no such number, or has no unit.
    """
    found = _AMOUNT.fullmatch(text.strip())
    known = _UNITS[unit]
    choice = " or ".join(f"{found[1] if found else 600}{one}" for one in known)
    if found is None:
        raise click.BadParameter(f"{text!r} is not a number with a unit; write {choice}")
    written = found[2].lower()
    named = _WRITTEN.get(written, written)
    if not named:
        raise click.BadParameter(f"{text!r} has no unit; write {choice}")
    if named not in known:
        raise click.BadParameter(f"{found[2]!r} is not a unit of it; write {choice}")
    from fleetcal.services.units_shown import factor_between

    return float(found[1]) * (1.0 if named == unit else factor_between(named, unit))


def named_without_unit(parameters: Iterable[click.Parameter]) -> dict[str, tuple[str, str]]:
    """Return the options that take a number with a unit, by the name without one.

    Returns:
        ``--weight``: ``--weight-kg`` and ``kg``.
    """
    options = [one for one in parameters if isinstance(one, click.Option)]
    taken = {word for option in options for word in option.opts}
    named = [option.opts[-1].rpartition("-") for option in options]
    stems = Counter(stem for stem, _, unit in named if unit in _UNITS)
    found: dict[str, tuple[str, str]] = {}
    for option in options:
        word = option.opts[-1]
        stem, _, unit = word.rpartition("-")
        if (
            unit in _UNITS
            and isinstance(option.type, Number)
            and stems[stem] == 1
            and stem not in taken
        ):
            found[stem] = (word, unit)
    return found


def with_plain_numbers(
    words: Sequence[str], parameters: Iterable[click.Parameter], context: click.Context
) -> list[str]:
    """Return the words of a command with every number with a unit as the plain option takes it.

    Raises:
        click.BadParameter: If such a number is missing or cannot be understood.
    """
    known = named_without_unit(parameters)
    found: list[str] = []
    rest = list(words)
    while rest:
        word = rest.pop(0)
        if word == "--":
            return [*found, word, *rest]
        name, equals, value = word.partition("=")
        if name not in known:
            found.append(word)
            continue
        option, unit = known[name]
        if not equals:
            value = rest.pop(0) if rest else ""
        try:
            plain = amount(value, unit)
        except click.BadParameter as error:
            raise click.BadParameter(error.message, context, param_hint=f"'{name}'") from error
        found += [option, f"{plain:.10g}"]
    return found


def help_of(option: click.Option, known: dict[str, tuple[str, str]]) -> str:
    """Return what the help adds to an option that also takes a number with a unit."""
    for stem, (word, unit) in known.items():
        if word == option.opts[-1]:
            return f"  Or {stem} {_EXAMPLES[unit]}."
    return ""
