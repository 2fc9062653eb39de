"""What is published: the pooled table of one group, as plain values."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, field, replace
from datetime import date

from fleetcal.errors import ImplausibleError
from fleetcal.publish.issue_mark import IssueMark
from fleetcal.publish.reading_row import ReadingRow
from fleetcal.publish.table_form import TableForm
from fleetcal.publish.table_limit import TableLimit, scaled_limit

_AGREEMENT_KT = 0.01


@dataclass(frozen=True, kw_only=True)
class TableRow:
    """One speed of the table or of the curve in the figure.

    Corrections are added to the reading: correction = CAS - IAS. A row that the
    data do not reach has no values and says why in `note`.

    Args:
        ias_kt: Indicated airspeed, kt.
        cas_kt: Calibrated airspeed, kt.
        correction_kt: Position correction of the group's mean, kt.
        mean_low_kt, mean_high_kt: 95 % band of the group's mean correction, kt.
        next_low_kt, next_high_kt: 95 % band for the correction of the group's next aircraft, kt.
        altitude_correction_ft: Position correction of the altimeter, ft.
        airframes: Airframes whose points reach this speed, brought to the table's weight.
        note: Empty, or the reason for an empty row.
        flown_by: Airframes whose indicator showed this speed, at the weight they flew; None in
            tables of older versions, which did not count it.
        light_cas_kt: Calibrated airspeed at the light weight of the table, kt.

    Raises:
        ImplausibleError: If a value is not finite, a band is upside down, CAS, IAS and correction
            contradict each other, or a row is half empty or empty without a reason.
    """

    ias_kt: float
    cas_kt: float | None
    correction_kt: float | None
    mean_low_kt: float | None
    mean_high_kt: float | None
    next_low_kt: float | None
    next_high_kt: float | None
    altitude_correction_ft: float | None
    airframes: int
    note: str = ""
    flown_by: int | None = None
    light_cas_kt: float | None = None

    def __post_init__(self) -> None:
        self._check_finite()
        values = (
            self.cas_kt,
            self.correction_kt,
            self.mean_low_kt,
            self.mean_high_kt,
            self.next_low_kt,
            self.next_high_kt,
        )
        given = [value for value in values if value is not None]
        if not given:
            self._check_empty_row()
            return
        if len(given) != len(values):
            raise self._fault("has some of its values but not all")
        cas, correction, mean_low, mean_high, next_low, next_high = given
        if mean_low > mean_high or next_low > next_high:
            raise self._fault("has a band whose lower end is above its upper end")
        if abs(self.ias_kt + correction - cas) > _AGREEMENT_KT:
            raise self._fault(
                f"has CAS {cas:g} kt but IAS + correction {self.ias_kt + correction:g} kt"
            )

    @property
    def is_empty(self) -> bool:
        """Whether the data do not reach this speed."""
        return self.correction_kt is None

    def _check_finite(self) -> None:
        for name, value in vars(self).items():
            if isinstance(value, float) and not math.isfinite(value):
                raise self._fault(f"has {name} = {value}")
        if self.ias_kt <= 0.0:
            raise self._fault("has no positive airspeed")

    def _check_empty_row(self) -> None:
        if not self.note.strip():
            raise self._fault("is empty and gives no reason")
        if self.altitude_correction_ft is not None:
            raise self._fault("has an altitude correction but no airspeed correction")

    def _fault(self, what: str) -> ImplausibleError:
        return ImplausibleError(
            f"table row at {self.ias_kt:g} kt IAS {what}",
            "a row is complete and finite, or empty with the reason in its note",
        )


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


@dataclass(frozen=True, kw_only=True)
class PooledTable:
    """The pooled position corrections of one group, ready to be published.

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
            half the band for one aircraft at some speed.
        pitot: What an error of the pitot would do, in a sentence.

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

    def __post_init__(self) -> None:
        if not self.rows or (self.form.from_cas and not self.readings):
            raise ImplausibleError(
                f"the table of {self.type_name}, {self.static_source} has no rows",
                "a speed without data is a row with a reason, not a missing row",
            )
        for speeds in (
            [row.ias_kt for row in self.rows],
            [row.ias_kt for row in self.curve],
            [row.cas_kt for row in self.readings],
        ):
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
        engine = "any" if self.engine is None else self.engine
        propeller = "any" if self.propeller is None else self.propeller
        return f"engine {engine}, propeller {propeller}"

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
        allowed=tuple((table.form.printed(v), table.form.printed(e)) for v, e in table.allowed),
        limits=tuple(scaled_limit(limit, table.form) for limit in table.limits),
        rows=tuple(_scaled_row(row, table.form) for row in table.rows),
        curve=tuple(_scaled_row(row, table.form) for row in table.curve),
        points=tuple(
            PlottedPoint(
                airframe=point.airframe,
                ias_kt=table.form.printed(point.ias_kt),
                correction_kt=table.form.printed(point.correction_kt),
                u_correction_kt=table.form.printed(point.u_correction_kt),
                read_kt=None if point.read_kt is None else table.form.printed(point.read_kt),
                read_at_kg=point.read_at_kg,
            )
            for point in table.points
        ),
    )


def _scaled_row(row: TableRow, form: TableForm) -> TableRow:
    def scaled(value: float | None) -> float | None:
        return None if value is None else form.printed(value)

    return replace(
        row,
        ias_kt=form.printed(row.ias_kt),
        cas_kt=scaled(row.cas_kt),
        correction_kt=scaled(row.correction_kt),
        mean_low_kt=scaled(row.mean_low_kt),
        mean_high_kt=scaled(row.mean_high_kt),
        next_low_kt=scaled(row.next_low_kt),
        next_high_kt=scaled(row.next_high_kt),
        light_cas_kt=scaled(row.light_cas_kt),
    )
