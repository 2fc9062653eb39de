"""What one flight says, in sentences that a pilot reads without a manual.

Every number is rounded once, and what follows from others is worked out from the
rounded ones: an indicated airspeed less its error is the calibrated airspeed as printed.
The band of an airspeed is that of the reading: how much of the error is the static port's
and how much the indicator's own is another question, and a doubt of its own.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from fleetcal.records import ORDINARY_FLIGHT
from fleetcal.services.as_read import INDICATOR, NO_CHECK
from fleetcal.services.flights.part_words import part_word
from fleetcal.services.flights.reduction import Reduction, RefusedRun
from fleetcal.services.flights.run_lines import RunLine
from fleetcal.wording import counted, decimal

#: More speeds than this get sentences for the most telling ones only.
MOST_SENTENCES: Final = 8
#: Below this the direction of a wind says nothing, kt.
_CALM_KT: Final = 2.0
#: Directions within this of their middle are one direction in a sentence, deg.
_ONE_DIRECTION_DEG: Final = 15.0
_LEAST_BAND_KT: Final = 0.1


@dataclass(frozen=True, kw_only=True)
class SpeedAnswer:
    """What a flight says at one speed, rounded as it is printed.

    Attributes:
        run: Number of the run, manoeuvre or airspeed.
        correction_kt: Added to the indicated airspeed; it is right to `band_kt` at 95 %.
        altimeter_ft: Added to the altimeter's reading; right to `altimeter_band_ft` at 95 %.
    """

    run: int
    ias_kt: float
    correction_kt: float
    band_kt: float
    cas_kt: float
    tas_kt: float
    altimeter_ft: float
    altimeter_band_ft: float
    accepted: bool

    @property
    def is_right(self) -> bool:
        """Whether the band holds no error at all."""
        return abs(self.correction_kt) <= self.band_kt

    @property
    def altimeter_is_right(self) -> bool:
        """Whether the altimeter's band holds no error at all."""
        return abs(self.altimeter_ft) <= self.altimeter_band_ft


def speed_answers(result: Reduction) -> tuple[SpeedAnswer, ...]:
    """Return what a flight says at each speed, the slowest first."""
    return tuple(_answer(run) for run in sorted(result.runs, key=lambda run: run.vic_kt))


def _answer(run: RunLine) -> SpeedAnswer:
    band = run.U95_dvpc_kt if run.U95_as_read_kt is None else run.U95_as_read_kt
    ias, correction = _tenths(run.vic_kt), _tenths(run.dvpc_kt)
    return SpeedAnswer(
        run=run.run,
        ias_kt=ias,
        correction_kt=correction,
        band_kt=max(_tenths(band), _LEAST_BAND_KT),
        cas_kt=_tenths(ias + correction),
        tas_kt=_tenths(run.tas_kt),
        altimeter_ft=round(run.dhpc_ft) + 0.0,
        altimeter_band_ft=max(round(run.U95_dhpc_ft), 1),
        accepted=run.accepted,
    )


def _tenths(value: float) -> float:
    return round(value, 1) + 0.0  # never minus zero


def answer_sentences(result: Reduction) -> tuple[str, ...]:
    """Return the answer of a flight: its airspeed at each speed, its altimeter, the wind.

    Returns:
        One sentence that says so where no part of the flight is accepted.
    """
    answers = [answer for answer in speed_answers(result) if answer.accepted]
    if not answers:
        return ("This flight gives no answer that can be relied on; why is below the table.",)
    subject = "your indicator"
    if result.airspeed_from != "indicated_airspeed":
        subject = "the logged airspeed"
    shown = _telling(answers)
    return (
        *(_speed_sentence(one, subject, is_first=one is shown[0]) for one in shown),
        *(_left_to_table(answers, shown)),
        altimeter_sentence(answers),
        wind_sentence([run for run in result.runs if run.accepted], result.track_reference),
    )


def _telling(answers: Sequence[SpeedAnswer]) -> list[SpeedAnswer]:
    """Return all answers, or of many the slowest, the fastest and the largest errors."""
    if len(answers) <= MOST_SENTENCES:
        return list(answers)
    by_error = sorted(answers, key=lambda one: one.correction_kt)
    chosen = [answers[0], answers[-1], by_error[0], by_error[-1]]
    return [answer for answer in answers if answer in chosen]


def _left_to_table(answers: Sequence[SpeedAnswer], shown: Sequence[SpeedAnswer]) -> Iterator[str]:
    if len(shown) < len(answers):
        yield (
            f"These are the slowest, the fastest and the largest errors of {len(answers)} "
            "measurements; the table has all."
        )


def _speed_sentence(answer: SpeedAnswer, subject: str, *, is_first: bool) -> str:
    """Say what the indicator does at one speed; the first sentence explains the next ones."""
    error, band = -answer.correction_kt, answer.band_kt
    who = subject if is_first else "it"
    start = f"At {decimal(answer.ias_kt)} kt {who} reads"
    cas = f"{decimal(answer.cas_kt)} kt"
    passed = f"the air moved past at {cas} calibrated" if is_first else f"{cas} calibrated"
    if answer.is_right:
        most = _tenths(abs(error) + band)
        best = f"best estimate {_off(error)}" if error else "best estimate: no error"
        return f"{start} right within ±{decimal(most)} kt ({best}): {passed}."
    low, high = sorted((_tenths(abs(error) - band), _tenths(abs(error) + band)))
    reach = f"{decimal(low)} to {decimal(high)}{' at 95 %' if is_first else ''}"
    return f"{start} {_off(error)} ({reach}): {passed}."


def _off(error_kt: float) -> str:
    return f"{decimal(abs(error_kt))} kt too {'fast' if error_kt > 0.0 else 'slow'}"


def altimeter_sentence(answers: Sequence[SpeedAnswer]) -> str:
    """Say what the static pressure does to the altimeter, in one sentence.

    Args:
        answers: At least one.
    """
    off = [answer for answer in answers if not answer.altimeter_is_right]
    at = "at this speed" if len(answers) == 1 else "at these speeds"
    if not off:
        most = max(abs(one.altimeter_ft) + one.altimeter_band_ft for one in answers)
        return f"The static port moves your altimeter by no more than {most:.0f} ft {at}."
    worst = max(off, key=lambda one: abs(one.altimeter_ft))
    error, band = abs(worst.altimeter_ft), worst.altimeter_band_ft
    way = "low" if worst.altimeter_ft > 0.0 else "high"
    most_of = "" if len(answers) == 1 else ", the most of all"
    return (
        f"The static port makes your altimeter read {error:.0f} ft too {way} "
        f"({error - band:.0f} to {error + band:.0f}) at {decimal(worst.ias_kt)} kt{most_of}."
    )


def wind_sentence(runs: Sequence[RunLine], track_reference: str) -> str:
    """Say in one sentence what wind was found.

    Args:
        runs: At least one.
        track_reference: ``true``, ``magnetic`` or ``unknown``.
    """
    speeds = [run.wind_speed_kt for run in runs]
    low, high = round(min(speeds)), round(max(speeds))
    strength = f"{high} kt" if low == high else f"{low} to {high} kt"
    if max(speeds) < _CALM_KT:
        return f"There was hardly any wind: {strength}."
    blown = np.radians([run.wind_from_deg for run in runs])
    middle = math.atan2(float(np.sum(np.sin(blown))), float(np.sum(np.cos(blown))))
    turned = np.degrees((blown - middle + np.pi) % (2.0 * np.pi) - np.pi)
    north = "by the log's own north" if track_reference == "unknown" else track_reference
    if np.max(np.abs(turned)) <= _ONE_DIRECTION_DEG:
        return f"The wind was {strength} from {_direction(math.degrees(middle))} {north}."
    ends = [_direction(math.degrees(middle) + float(end)) for end in (turned.min(), turned.max())]
    return f"The wind was {strength} from between {ends[0]} and {ends[1]} {north}."


def _direction(degrees: float) -> str:
    return f"{round(degrees) % 360 or 360:03d}°"


def doubt_sentences(result: Reduction) -> tuple[str, ...]:
    """Return what was not accepted and why, and what else is in doubt, in short sentences."""
    return (
        *(
            f"{_named(run, result.technique)} not accepted: {run.reason}."
            for run in result.runs
            if not run.accepted
        ),
        *_refused(result.refused, result.technique),
        *_port_share(result.runs),
        *result.doubts,
    )


def _named(run: RunLine, technique: str) -> str:
    if technique == ORDINARY_FLIGHT:
        return f"What was flown at {run.vic_kt:.1f} kt is"
    return f"{part_word(technique).capitalize()} {run.run} at {run.vic_kt:.1f} kt is"


def _refused(refused: Sequence[RefusedRun], technique: str) -> Iterator[str]:
    """Yield one sentence for all parts that were refused for the same reason."""
    alike: dict[tuple[int | None, str], list[int]] = {}
    for run in refused:
        alike.setdefault((run.leg_count, run.reason), []).append(run.run)
    for (legs, reason), numbers in alike.items():
        if technique == ORDINARY_FLIGHT:  # its reason names the airspeed
            yield f"Not solved: {reason}."
            continue
        each = "" if len(numbers) == 1 else " each"
        size = f" ({counted(legs, 'leg')}{each})" if legs else ""
        which = ", ".join(str(number) for number in numbers)
        word = part_word(technique, len(numbers)).capitalize()
        verb = "was" if len(numbers) == 1 else "were"
        yield f"{word} {which}{size} {verb} not solved: {reason}."


def _port_share(runs: Sequence[RunLine]) -> Iterator[str]:
    """Say what a bench check of the indicator would add, where there was none."""
    unchecked = [t for run in runs for t in run.terms if t.name == INDICATOR]
    if not any(term.note.endswith(NO_CHECK) for term in unchecked):
        return
    port = _range([run.U95_dvpc_kt for run in runs])
    yield (
        "The corrections are for your indicator as it is. How much of them comes from the static "
        f"port is known to ±{port} kt only, until the indicator was on a bench."
    )


def _range(values: Sequence[float]) -> str:
    low, high = decimal(min(values)), decimal(max(values))
    return low if low == high else f"{low} to {high}"
