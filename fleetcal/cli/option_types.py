"""What an option may hold besides text and whole numbers."""

from __future__ import annotations

import math
from datetime import date
from pathlib import Path
from typing import TypeAlias, cast

import click

#: First and last day, None where an end is open.
Period: TypeAlias = tuple[date | None, date | None]
#: Lowest and highest number, infinite where an end is open.
Band: TypeAlias = tuple[float, float]


class Day(click.ParamType[date]):
    """A date written YYYY-MM-DD."""

    name = "YYYY-MM-DD"

    def convert(
        self, value: object, param: click.Parameter | None, ctx: click.Context | None
    ) -> date:
        """Return the date, or fail with the usage."""
        if isinstance(value, date):
            return value
        try:
            return date.fromisoformat(str(value))
        except ValueError:
            self.fail(f"{value!r} is not a date; write YYYY-MM-DD", param, ctx)


class Number(click.FloatRange):
    """A number within limits; click alone would let NaN through."""

    name = "number"

    def convert(
        self, value: object, param: click.Parameter | None, ctx: click.Context | None
    ) -> float:
        """Return the number, or fail with the usage."""
        number = float(super().convert(cast("float", value), param, ctx))
        if math.isnan(number):
            self.fail(f"{value!r} is not a number", param, ctx)
        return number


class Days(click.ParamType[Period]):
    """A period written FROM..TO, either end may be left out."""

    name = "FROM..TO"

    def convert(
        self, value: object, param: click.Parameter | None, ctx: click.Context | None
    ) -> Period:
        """Return the two days, None where left out, or fail with the usage."""
        if isinstance(value, tuple):
            return value
        start, dots, stop = str(value).partition("..")
        try:
            days = tuple(date.fromisoformat(t) if t else None for t in (start, stop))
        except ValueError:
            dots = ""
        if not dots:
            self.fail(f"{value!r} is not a period; write 2024-01-01..2024-06-30", param, ctx)
        return days[0], days[1]


class NumberBand(click.ParamType[Band]):
    """Two numbers written FROM..TO, either may be left out."""

    name = "FROM..TO"

    def __init__(self, low: float, high: float) -> None:
        self.end = Number(low, high)

    def convert(
        self, value: object, param: click.Parameter | None, ctx: click.Context | None
    ) -> Band:
        """Return the two numbers, infinite where left out, or fail with the usage."""
        if isinstance(value, tuple):
            return value
        low, dots, high = str(value).partition("..")
        if not dots:
            self.fail(f"{value!r} is not a range; write 3500..6000, 3500.. or ..6000", param, ctx)
        found = (
            self.end.convert(low, param, ctx) if low else -math.inf,
            self.end.convert(high, param, ctx) if high else math.inf,
        )
        if found[0] >= found[1]:
            self.fail(f"{value!r} is not a range: {low} is not below {high}", param, ctx)
        return found


class RunAndLeg(click.ParamType[tuple[int, int]]):
    """A leg of a run, written RUN:LEG."""

    name = "RUN:LEG"

    def convert(
        self, value: object, param: click.Parameter | None, ctx: click.Context | None
    ) -> tuple[int, int]:
        """Return both numbers, or fail with the usage."""
        run, colon, leg = str(value).partition(":")
        if not colon or not run.isdecimal() or not leg.isdecimal():
            self.fail(f"{value!r} is not a leg of a run; write RUN:LEG, such as 2:1", param, ctx)
        return int(run), int(leg)


class FigureFile(click.ParamType[Path]):
    """A file whose ending tells what kind of picture it is."""

    name = "FILE"

    def __init__(self, *endings: str) -> None:
        self.endings = endings or (".svg", ".png", ".pdf")

    def convert(
        self, value: object, param: click.Parameter | None, ctx: click.Context | None
    ) -> Path:
        """Return the path, or fail with the usage."""
        path = Path(str(value))
        if path.suffix.lower() not in self.endings:
            self.fail(f"{str(value)!r} must end in {', '.join(self.endings)}", param, ctx)
        return path
