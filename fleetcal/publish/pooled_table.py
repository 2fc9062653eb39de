"""What is published: the table of one group, or of one airframe, as plain values."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import date

from fleetcal.errors import ImplausibleError
from fleetcal.publish.issue_mark import IssueMark
from fleetcal.publish.one_airframe import OneAirframe
from fleetcal.publish.table_form import TableForm
from fleetcal.publish.table_limit import TableLimit, scaled_limit
from fleetcal.publish.table_row import ReadingRow, TableRow


@dataclass(frozen=True, kw_only=True)
class PlottedPoint:
    """One accepted point of one airframe.

    Args:
        airframe: Tag of the airframe.
        ias_kt: Indicated airspeed, kt, at the table's weight.
        correction_kt: Position correction, kt.
        u_correction_kt: Standard uncertainty of the correction, kt.
        read_kt, read_at_kg: Indicated airspeed as it was read, and the weight it was read at; None
            in tables of older versions.

    Raises:
        ImplausibleError: If a value is not finite or the uncertainty is negative.
    """

    airframe: str
    ias_kt: float
    correction_kt: float
    u_correction_kt: float
    read_kt: float | None = None
    read_at_kg: float | None = None

    def __post_init__(self) -> None:
        values = (self.ias_kt, self.correction_kt, self.u_correction_kt)
        if not all(math.isfinite(value) for value in values) or self.u_correction_kt < 0.0:
            raise ImplausibleError(
                f"point of airframe {self.airframe} cannot be drawn: ias_kt, correction_kt, "
                f"u_correction_kt = {values}",
                "every value is finite and the uncertainty is not negative",
            )

    def scaled(self, to_unit: Callable[[float], float]) -> PlottedPoint:
        """Return the point for drawing, with all its speeds in another unit."""
        return replace(
            self,
            ias_kt=to_unit(self.ias_kt),
            correction_kt=to_unit(self.correction_kt),
            u_correction_kt=to_unit(self.u_correction_kt),
            read_kt=None if self.read_kt is None else to_unit(self.read_kt),
        )


@dataclass(frozen=True, kw_only=True)
class PooledTable:
    """The position corrections of one group, or of one airframe, ready to be published.

    Args:
        type_name, static_source: The aircraft type and the static source of the group.
        engine, propeller: The pairing; None when all pairings on this static source are pooled.
        weight_kg: Weight for which the table holds, kg.
        altitude_statement: One sentence: the altitude for which the altimeter corrections hold.
        rows: The printed speeds, rising.
        curve: The same curve at finer steps, rising, for the figure.
        airframe_count, sortie_count, point_count: What was pooled.
        model: The fitted model in words.
        left_out: One sentence for each thing that was left out, and why.
        doubts: One sentence for each thing that speaks against the table, such as an aircraft in
            the pool that stands outside it.
        form: Which way the table is read, and in which unit.
        readings: The lines of a table that goes from CAS to IAS, rising in CAS.
        yardstick: The curve beside limits that rules have had, for information.
        allowed (tuple of (ias_kt, error_kt)): The airspeed error that a rule allowed, along the
            curve, for the figure.
        issue: Number and date, if the table is an issue.
        without: Airframes of the group that are not in the pool, each with why.
        limits: Of the type, on this port.
        light_weight_kg: Lightest weight flown, if what the table says there differs by more than
            half the band for another aircraft at some speed.
        pitot: What an error of the pitot would do, in a sentence.
        airframe: Whose own table it is, in which case both bands of a row are the same and the
            counts are its own; None for a group.

    Raises:
        ImplausibleError: If there are no rows, or rows, readings or curve do not rise in airspeed.
    """

    type_name: str
    static_source: str
    engine: str | None
    propeller: str | None
    flap_setting: str
    weight_kg: float
    altitude_statement: str
    rows: tuple[TableRow, ...]
    points: tuple[PlottedPoint, ...]
    curve: tuple[TableRow, ...]
    airframe_count: int
    sortie_count: int
    point_count: int
    model: str
    left_out: tuple[str, ...]
    made_on: date
    program_version: str
    doubts: tuple[str, ...] = ()
    form: TableForm = field(default_factory=TableForm)
    readings: tuple[ReadingRow, ...] = ()
    yardstick: str = ""
    allowed: tuple[tuple[float, float], ...] = ()
    issue: IssueMark | None = None
    without: tuple[str, ...] = ()
    limits: tuple[TableLimit, ...] = ()
    light_weight_kg: float | None = None
    pitot: str = ""
    airframe: OneAirframe | None = None

    def __post_init__(self) -> None:
        if not self.rows or (self.form.from_cas and not self.readings):
            raise ImplausibleError(
                f"the table of {self.type_name}, {self.static_source} has no rows",
                "a speed without data is a row with a reason, not a missing row",
            )
        for lines in (self.rows, self.curve, self.readings):
            speeds = [row.given_kt for row in lines]
            if any(low >= high for low, high in itertools.pairwise(speeds)):
                raise ImplausibleError(
                    f"the speeds of {self.type_name}, {self.static_source} do not rise: {speeds}",
                    "give each speed once, in rising order",
                )

    @property
    def pairing(self) -> str:
        """Engine and propeller in words, or that all pairings are pooled."""
        if self.engine is None and self.propeller is None:
            return "all engines and propellers flown"
        return f"{_part('engine', self.engine)}, {_part('propeller', self.propeller)}"

    @property
    def warning(self) -> str:
        """That the issue was withdrawn and why, or nothing."""
        return "" if self.issue is None else self.issue.warning


def in_own_unit(table: PooledTable) -> PooledTable:
    """Return a table for drawing, whose curve and points are in its own unit of speed.

    Returns:
        The same table if its unit is the knot; otherwise the fields of curve, rows and points named
        ``..._kt`` hold the other unit.
    """
    if table.form.speed_unit == "kt":
        return table
    return replace(
        table,
        airframe=table.airframe and table.airframe.scaled(table.form.printed),
        allowed=tuple((table.form.printed(v), table.form.printed(e)) for v, e in table.allowed),
        limits=tuple(scaled_limit(limit, table.form) for limit in table.limits),
        rows=tuple(row.scaled(table.form.printed) for row in table.rows),
        curve=tuple(row.scaled(table.form.printed) for row in table.curve),
        points=tuple(point.scaled(table.form.printed) for point in table.points),
    )


def _part(what: str, name: str | None) -> str:
    """Return a part with its name, which says itself what it is where nobody described it."""
    if name is not None and name.startswith(f"{what} not described"):
        return f"{what} not described yet"
    return f"{what} {'any' if name is None else name}"
