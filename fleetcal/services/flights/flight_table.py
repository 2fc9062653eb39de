"""The table of one flight for people: what to add to each reading, as printed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from fleetcal.services.flights.part_words import part_word
from fleetcal.services.flights.reduction import Reduction
from fleetcal.services.flights.speed_answers import (
    KT_AND_FT,
    PrintedUnits,
    SpeedAnswer,
    speed_answers,
)
from fleetcal.wording import decimal, with_sign


@dataclass(frozen=True)
class FlightTable:
    """Cells as they are printed.

    Attributes:
        headings: Of each column its name and its unit, which may be empty.
        rows: Each as long as the headings.
    """

    headings: tuple[tuple[str, str], ...]
    rows: tuple[tuple[str, ...], ...]


def flight_table(result: Reduction, units: PrintedUnits = KT_AND_FT) -> FlightTable:
    """Return the table of a flight, the slowest speed first.

    Returns:
        With a column of what is accepted only where something is not.
    """
    answers = speed_answers(result, units)
    judged = any(not answer.accepted for answer in answers)
    headings = [
        ("run" if part_word(result.technique) == "run" else "no.", ""),
        ("IAS", units.speed),
        ("add to IAS", units.speed),
        ("CAS", units.speed),
        ("TAS", units.speed),
        ("add to altimeter", units.height),
    ]
    headings += [("accepted", "")] if judged else []
    return FlightTable(tuple(headings), tuple(_cells(answers, judged=judged)))


def _cells(answers: Sequence[SpeedAnswer], *, judged: bool) -> list[tuple[str, ...]]:
    corrections = _with_band([(one.correction, one.band) for one in answers], 1)
    heights = _with_band([(one.altimeter, one.altimeter_band) for one in answers], 0)
    return [
        (
            str(one.run),
            decimal(one.ias),
            correction,
            decimal(one.cas),
            decimal(one.tas),
            height,
            *([("yes" if one.accepted else "no")] if judged else []),
        )
        for one, correction, height in zip(answers, corrections, heights, strict=True)
    ]


def _with_band(values: Sequence[tuple[float, float]], places: int) -> list[str]:
    """Return values with what they are right to, the signs below one another."""
    bands = [decimal(band, places) for _, band in values]
    width = max((len(band) for band in bands), default=0)
    return [
        f"{with_sign(value, places)} ±{band.rjust(width)}"
        for (value, _), band in zip(values, bands, strict=True)
    ]
