"""One line of a table: a speed, its correction with both bands, and what stands beside them."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields, replace
from typing import Any, ClassVar, Final, Self

from fleetcal.errors import ImplausibleError

_AGREEMENT_KT: Final = 0.01
_LIGHT: Final = "light_correction_kt"


@dataclass(frozen=True, kw_only=True)
class TableRow:
    """One indicated airspeed and what is known at it; `ReadingRow` turns it round.

    Corrections are added to the reading: correction = CAS - IAS. A row that the
    data do not reach has no values and says why in `note`.

    Attributes:
        ias_kt, cas_kt: Airspeeds; the one that the row is looked up by is always there.
        correction_kt: Position correction of the group's mean.
        mean_low_kt, mean_high_kt: 95 % band of the group's mean, of the correction.
        next_low_kt, next_high_kt: 95 % band for another aircraft of the group, of the correction.
        altitude_correction_ft: Position correction of the altimeter.
        airframes: Airframes whose points reach this speed, brought to the table's weight.
        note: Empty, or the reason for an empty row.
        flown_by: Airframes whose indicator showed this speed, at the weight they flew; None in
            tables of older versions, which did not count it.
        light_correction_kt: Correction at the lightest weight flown, where that matters.

    Raises:
        ImplausibleError: If a value is not finite, a band is upside down, CAS, IAS and correction
            contradict each other, or a row is half empty or empty without a reason.
    """

    ias_kt: float | None = None
    cas_kt: float | None = None
    correction_kt: float | None = None
    mean_low_kt: float | None = None
    mean_high_kt: float | None = None
    next_low_kt: float | None = None
    next_high_kt: float | None = None
    altitude_correction_ft: float | None = None
    airframes: int
    note: str = ""
    flown_by: int | None = None
    light_correction_kt: float | None = None

    #: Which way the row is read: fields of the two speeds, and answer = given + SIGN*correction.
    GIVEN: ClassVar[str] = "ias_kt"
    ANSWER: ClassVar[str] = "cas_kt"
    SIGN: ClassVar[float] = 1.0

    @property
    def given_kt(self) -> float:
        """Speed that the row is looked up by."""
        speed: float = getattr(self, self.GIVEN)
        return speed

    @property
    def answer_kt(self) -> float | None:
        """The other speed; None where the data do not reach."""
        speed: float | None = getattr(self, self.ANSWER)
        return speed

    @property
    def light_answer_kt(self) -> float | None:
        """The other speed at the lightest weight flown."""
        if self.answer_kt is None or self.light_correction_kt is None:
            return None
        return self.given_kt + self.SIGN * self.light_correction_kt

    @property
    def is_empty(self) -> bool:
        """Whether the data do not reach this speed."""
        return self.correction_kt is None

    def __post_init__(self) -> None:
        if getattr(self, self.GIVEN) is None:
            raise ImplausibleError("a table row has no airspeed", "give the speed that it is for")
        for name, value in vars(self).items():
            if isinstance(value, float) and not math.isfinite(value):
                raise self._fault(f"has {name} = {value}")
        if self.given_kt <= 0.0:
            raise self._fault("has no positive airspeed")
        values = (
            self.answer_kt,
            self.correction_kt,
            self.mean_low_kt,
            self.mean_high_kt,
            self.next_low_kt,
            self.next_high_kt,
        )
        known = [value for value in values if value is not None]
        if not known:
            self._check_empty()
        elif len(known) < len(values):
            raise self._fault("has some of its values but not all")
        else:
            self._check_full(*known)

    def _check_empty(self) -> None:
        if not self.note.strip():
            raise self._fault("is empty and gives no reason")
        if self.altitude_correction_ft is not None:
            raise self._fault("has an altitude correction but no airspeed correction")

    def _check_full(self, answer: float, correction: float, *bands: float) -> None:
        if bands[0] > bands[1] or bands[2] > bands[3]:
            raise self._fault("has a band whose lower end is above its upper end")
        ias, cas = (self.given_kt, answer) if self.SIGN > 0.0 else (answer, self.given_kt)
        if abs(ias + correction - cas) > _AGREEMENT_KT:
            raise self._fault(f"has CAS {cas:g} kt but IAS + correction {ias + correction:g} kt")

    def _fault(self, what: str) -> ImplausibleError:
        name = self.GIVEN.removesuffix("_kt").upper()
        return ImplausibleError(
            f"table row at {self.given_kt:g} kt {name} {what}",
            "a row is complete and finite, or empty with the reason in its note",
        )

    def scaled(self, to_unit: Callable[[float], float]) -> Self:
        """Return the row for drawing, with all its speeds in another unit."""
        speeds = {name: getattr(self, name) for name in _names(self) if name.endswith("_kt")}
        scaled: Any = {n: None if v is None else to_unit(v) for n, v in speeds.items()}
        return replace(self, **scaled)

    def kept(self) -> list[Any]:
        """Return the values in the order in which issues keep them: the looked-up speed first."""
        speeds = {"ias_kt": self.given_kt, "cas_kt": self.answer_kt}
        values = {name: getattr(self, name) for name in _names(self)} | speeds
        return list((values | {_LIGHT: self.light_answer_kt}).values())

    @classmethod
    def of_kept(cls, values: Sequence[Any]) -> Self:
        """Return the row that `kept` made values of; an older program kept fewer of them."""
        names = _names(cls)
        if len(values) > len(names):
            raise ValueError
        found = dict(zip(names, values, strict=False))
        given, answer, light = values[0], values[1], found.get(_LIGHT)
        found |= {cls.GIVEN: given, cls.ANSWER: answer}
        return cls(**found | {_LIGHT: None if light is None else cls.SIGN * (light - given)})


@dataclass(frozen=True, kw_only=True)
class ReadingRow(TableRow):
    """One calibrated airspeed and what the indicator shows there; both bands are of the IAS."""

    GIVEN: ClassVar[str] = "cas_kt"
    ANSWER: ClassVar[str] = "ias_kt"
    SIGN: ClassVar[float] = -1.0

    def _check_full(self, answer: float, correction: float, *bands: float) -> None:
        super()._check_full(answer, correction, *bands)
        if not bands[2] <= answer <= bands[3]:
            raise self._fault("has a band that leaves the reading out")


def _names(row: TableRow | type[TableRow]) -> list[str]:
    return [field.name for field in fields(row)]
