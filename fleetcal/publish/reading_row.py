"""One line of a table that goes from CAS to IAS."""

from __future__ import annotations

import math
from dataclasses import dataclass

from fleetcal.errors import ImplausibleError

_AGREEMENT_KT = 0.01


@dataclass(frozen=True, kw_only=True)
class ReadingRow:
    """What the indicator shows at one calibrated airspeed.

    Args:
        cas_kt: Calibrated airspeed, kt.
        ias_kt: Indicated airspeed of the group's mean, kt.
        correction_kt: CAS - IAS, kt.
        mean_low_kt, mean_high_kt: 95 % band of the indicated airspeed of the group's mean, kt.
        next_low_kt, next_high_kt: 95 % band of the indicated airspeed of the group's next aircraft,
            kt.
        airframes: Airframes whose points reach this speed, brought to the table's weight.
        note: Empty, or the reason for an empty row.
        flown_by: Airframes whose indicator showed this speed, at the weight they flew; None in
            tables of older versions, which did not count it.
        light_ias_kt: Indicated airspeed at the light weight of the table, kt.

    Raises:
        ImplausibleError: If a value is not finite, the values contradict each other, or a row is
            half empty or empty without a reason.
    """

    cas_kt: float
    ias_kt: float | None
    correction_kt: float | None
    mean_low_kt: float | None
    mean_high_kt: float | None
    next_low_kt: float | None
    next_high_kt: float | None
    altitude_correction_ft: float | None
    airframes: int
    note: str = ""
    flown_by: int | None = None
    light_ias_kt: float | None = None

    def __post_init__(self) -> None:
        values = (
            self.ias_kt,
            self.correction_kt,
            self.mean_low_kt,
            self.mean_high_kt,
            self.next_low_kt,
            self.next_high_kt,
        )
        given = [value for value in values if value is not None]
        if not all(math.isfinite(value) for value in (self.cas_kt, *given)) or self.cas_kt <= 0.0:
            raise self._fault("is not finite")
        if not given:
            if not self.note.strip():
                raise self._fault("is empty and gives no reason")
            return
        if len(given) != len(values):
            raise self._fault("has some of its values but not all")
        ias, correction, mean_low, mean_high, next_low, next_high = given
        if not (next_low <= ias <= next_high and mean_low <= mean_high):
            raise self._fault("has a band that is upside down or leaves the reading out")
        if abs(ias + correction - self.cas_kt) > _AGREEMENT_KT:
            raise self._fault(f"has IAS + correction {ias + correction:g} kt")

    def _fault(self, what: str) -> ImplausibleError:
        return ImplausibleError(
            f"table row at {self.cas_kt:g} kt CAS {what}",
            "a row is complete and finite, or empty with the reason in its note",
        )
