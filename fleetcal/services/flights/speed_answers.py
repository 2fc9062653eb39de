"""What one flight says at each of its speeds, rounded once, in the units that people read.

What follows from other numbers is worked out from the rounded ones, so that they agree in
print: an indicated airspeed and its correction are the calibrated airspeed. The band of an
airspeed is that of the reading: how much of the error is the static port's and how much the
indicator's own is another question.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from fleetcal.services.flights.reduction import Reduction
from fleetcal.services.flights.run_lines import RunLine
from fleetcal.services.units_shown import factor_between

_LEAST_BAND: Final = 0.1


@dataclass(frozen=True)
class PrintedUnits:
    """Units that people read: speed in kt, mph or km/h, height in ft or m."""

    speed: str = "kt"
    height: str = "ft"

    def of_speed(self, knots: float) -> float:
        """Return a speed in tenths of the unit."""
        return in_tenths(knots * (1.0 if self.speed == "kt" else factor_between("kt", self.speed)))

    def of_height(self, feet: float) -> float:
        """Return a height in integer numbers of the unit."""
        factor = 1.0 if self.height == "ft" else factor_between("ft", self.height)
        return round(feet * factor) + 0.0


KT_AND_FT: Final = PrintedUnits()


@dataclass(frozen=True, kw_only=True)
class SpeedAnswer:
    """What a flight says at one speed, rounded as it is printed, in the units chosen.

    Attributes:
        run: Number of the run, manoeuvre or airspeed.
        correction: Added to the indicated airspeed; it is right to `band` at 95 %.
        altimeter: Added to the altimeter's reading; right to `altimeter_band` at 95 %.
    """

    run: int
    ias: float
    correction: float
    band: float
    cas: float
    tas: float
    altimeter: float
    altimeter_band: float
    accepted: bool

    @property
    def is_right(self) -> bool:
        """Whether the band holds no error at all."""
        return abs(self.correction) <= self.band

    @property
    def altimeter_is_right(self) -> bool:
        """Whether the altimeter's band holds no error at all."""
        return abs(self.altimeter) <= self.altimeter_band


def speed_answers(result: Reduction, units: PrintedUnits = KT_AND_FT) -> tuple[SpeedAnswer, ...]:
    """Return what a flight says at each speed, the slowest first."""
    runs = sorted(result.runs, key=lambda run: run.vic_kt)
    return tuple(_answer(run, units) for run in runs)


def _answer(run: RunLine, units: PrintedUnits) -> SpeedAnswer:
    band = run.U95_dvpc_kt if run.U95_as_read_kt is None else run.U95_as_read_kt
    ias, correction = units.of_speed(run.vic_kt), units.of_speed(run.dvpc_kt)
    return SpeedAnswer(
        run=run.run,
        ias=ias,
        correction=correction,
        band=max(units.of_speed(band), _LEAST_BAND),
        cas=in_tenths(ias + correction),
        tas=units.of_speed(run.tas_kt),
        altimeter=units.of_height(run.dhpc_ft),
        altimeter_band=max(units.of_height(run.U95_dhpc_ft), 1.0),
        accepted=run.accepted,
    )


def in_tenths(value: float) -> float:
    """Return a value rounded to tenths."""
    return round(value, 1) + 0.0  # never minus zero
