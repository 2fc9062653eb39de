"""A limit of the type on the port of a table, as the table marks it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from fleetcal.plain_text import one_line
from fleetcal.publish.table_form import TableForm
from fleetcal.wording import decimal

#: What rounding alone may leave of a tenth.
_NEAR_INTEGER = 1e-6


@dataclass(frozen=True)
class TableLimit:
    """One limit.

    Args:
        usable_kt: IAS on this port, at the table's weight, that is not to be passed.
        reasons: Where it comes from and how it was carried, without the last full stop.
        bound: Whether lines above it are not for flying; a manoeuvring speed is no such bound.
    """

    name: str
    usable_kt: float
    reasons: str
    bound: bool


def printed_limit(limit: TableLimit, form: TableForm) -> str:
    """Return the figure of a limit in the table's unit, to a tenth, rounded down."""
    return decimal(math.floor(form.printed(limit.usable_kt) * 10.0 + _NEAR_INTEGER) / 10.0)


def lowest_bound(limits: Sequence[TableLimit]) -> TableLimit | None:
    """Return the lowest limit above which no line is for flying."""
    bounds = [limit for limit in limits if limit.bound]
    return min(bounds, key=lambda limit: limit.usable_kt, default=None)


def beyond_words(limit: TableLimit, form: TableForm) -> str:
    """Return what stands between the lines below a bound and the faster ones."""
    return (
        f"{titled(limit)} on this port: {printed_limit(limit, form)} {form.speed_unit} IAS. Faster "
        "lines are not for flying."
    )


def titled(limit: TableLimit) -> str:
    """Return the name of a limit with a capital first letter."""
    name = one_line(limit.name)
    return f"{name[:1].upper()}{name[1:]}"


def scaled_limit(limit: TableLimit, form: TableForm) -> TableLimit:
    """Return a limit for drawing, whose figure is in the table's unit."""
    return replace(limit, usable_kt=form.printed(limit.usable_kt))
