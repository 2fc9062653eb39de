"""What one flight says, in sentences that a pilot reads without a manual.

An error is the reading less what is true, so it has the other sign than the correction.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Final

import numpy as np

from fleetcal.records import ORDINARY_FLIGHT
from fleetcal.services.as_read import INDICATOR, NO_CHECK
from fleetcal.services.flights.part_words import part_word
from fleetcal.services.flights.reduction import Reduction, RefusedRun
from fleetcal.services.flights.run_lines import RunLine
from fleetcal.services.flights.speed_answers import (
    KT_AND_FT,
    PrintedUnits,
    SpeedAnswer,
    in_tenths,
    speed_answers,
)
from fleetcal.wording import counted, decimal

TABLE_HELP: Final = (
    "Add the corrections to what you read; ± says how far each of them may be off (95 %)."
)
#: More speeds than this get sentences for the most telling ones only.
MOST_SENTENCES: Final = 8
#: More reasons of what was not solved are summed up.
MOST_REFUSALS: Final = 3
#: Below this the direction of a wind says nothing, kt.
_CALM_KT: Final = 2.0
#: Directions within this of their middle are one direction in a sentence, deg.
_ONE_DIRECTION_DEG: Final = 15.0


def answer_sentences(result: Reduction, units: PrintedUnits = KT_AND_FT) -> tuple[str, ...]:
    """Return the answer of a flight: its airspeed at each speed, its altimeter, the wind.

    Returns:
        One sentence that says so where no part of the flight is accepted.
    """
    answers = [answer for answer in speed_answers(result, units) if answer.accepted]
    if not answers:
        return ("This flight gives no answer that can be relied on; why is below the table.",)
    subject = "your indicator"
    if result.airspeed_from != "indicated_airspeed":
        subject = "the logged airspeed"
    elif _benched(result.runs):
        subject = "your indicator, its own error taken out,"
    shown = _telling(answers)
    return (
        *(_speed_sentence(one, subject, units, is_first=one is shown[0]) for one in shown),
        *(_left_to_table(answers, shown)),
        altimeter_sentence(answers, units),
        wind_sentence([run for run in result.runs if run.accepted], result.track_reference, units),
    )


def _telling(answers: Sequence[SpeedAnswer]) -> list[SpeedAnswer]:
    """Return all answers, or of many the slowest, the fastest and the largest errors."""
    if len(answers) <= MOST_SENTENCES:
        return list(answers)
    by_error = sorted(answers, key=lambda one: one.correction)
    chosen = [answers[0], answers[-1], by_error[0], by_error[-1]]
    return [answer for answer in answers if answer in chosen]


def _left_to_table(answers: Sequence[SpeedAnswer], shown: Sequence[SpeedAnswer]) -> Iterator[str]:
    if len(shown) < len(answers):
        yield (
            f"These are the slowest, the fastest and the largest errors of {len(answers)} "
            "measurements; the table has all."
        )


def _speed_sentence(
    answer: SpeedAnswer, subject: str, units: PrintedUnits, *, is_first: bool
) -> str:
    """Say what the indicator does at one speed; the first sentence explains the next ones."""
    error, band, unit = -answer.correction, answer.band, units.speed
    who = subject if is_first else "it"
    start = f"At {decimal(answer.ias)} {unit} {who} reads"
    cas = f"{decimal(answer.cas)} {unit}"
    passed = f"the air moved past at {cas} calibrated (CAS)" if is_first else f"{cas} calibrated"
    if answer.is_right:
        most = in_tenths(abs(error) + band)
        best = f"best estimate {_off(error, unit)}" if error else "best estimate: no error"
        return f"{start} right within ±{decimal(most)} {unit} ({best}): {passed}."
    low, high = sorted((in_tenths(abs(error) - band), in_tenths(abs(error) + band)))
    reach = f"{decimal(low)} to {decimal(high)}{' at 95 %' if is_first else ''}"
    return f"{start} {_off(error, unit)} ({reach}): {passed}."


def _off(error: float, unit: str) -> str:
    return f"{decimal(abs(error))} {unit} too {'fast' if error > 0.0 else 'slow'}"


def altimeter_sentence(answers: Sequence[SpeedAnswer], units: PrintedUnits = KT_AND_FT) -> str:
    """Say what the static pressure does to the altimeter, in one sentence.

    Args:
        answers: At least one.
    """
    off = [answer for answer in answers if not answer.altimeter_is_right]
    at = "at this speed" if len(answers) == 1 else "at these speeds"
    if not off:
        most = max(abs(one.altimeter) + one.altimeter_band for one in answers)
        return (
            f"The static port moves your altimeter by no more than {most:.0f} {units.height} "
            f"either way {at}."
        )
    worst = max(off, key=lambda one: abs(one.altimeter))
    error, band = abs(worst.altimeter), worst.altimeter_band
    way = "low" if worst.altimeter > 0.0 else "high"
    most_of = "" if len(answers) == 1 else ", the most of all"
    return (
        f"The static port makes your altimeter read {error:.0f} {units.height} too {way} "
        f"({error - band:.0f} to {error + band:.0f}) at {decimal(worst.ias)} {units.speed}"
        f"{most_of}."
    )


def wind_sentence(
    runs: Sequence[RunLine], track_reference: str, units: PrintedUnits = KT_AND_FT
) -> str:
    """Say in one sentence what wind was found.

    Args:
        runs: At least one.
        track_reference: ``true``, ``magnetic`` or ``unknown``.
    """
    speeds = [run.wind_speed_kt for run in runs]
    low, high = round(units.of_speed(min(speeds))), round(units.of_speed(max(speeds)))
    strength = f"{high}" if low == high else f"{low} to {high}"
    strength += f" {units.speed}"
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
        *_not_accepted(result),
        *_refused_in_short(result),
        *_port_share(result.runs),
        *result.doubts,
    )


def refused_sentences(result: Reduction) -> tuple[str, ...]:
    """Return why parts of the flight were not solved, one sentence for each reason."""
    return tuple(_refused(result.refused, result.technique))


def _refused_in_short(result: Reduction) -> Iterator[str]:
    """Yield the reasons, or of many only how many parts they are for."""
    sentences = refused_sentences(result)
    if len(sentences) <= MOST_REFUSALS:
        yield from sentences
        return
    count = len(result.refused)
    total = count + len(result.runs)
    yield (
        f"{count} of {total} {part_word(result.technique, total)} found were not solved, most of "
        "them for lack of legs on different tracks; --details gives each reason."
    )


def _not_accepted(result: Reduction) -> Iterator[str]:
    """Yield one sentence for all runs that are not accepted for the same reason."""
    alike: dict[str, list[RunLine]] = {}
    for run in result.runs:
        if not run.accepted:
            alike.setdefault(run.reason, []).append(run)
    for reason, runs in alike.items():
        yield f"{_named(runs, result.technique)} not accepted: {reason}."


def _named(runs: Sequence[RunLine], technique: str) -> str:
    speeds = ", ".join(f"{run.vic_kt:.1f}" for run in runs)
    if technique == ORDINARY_FLIGHT:
        return f"What was flown at {speeds} kt is"
    word = part_word(technique).capitalize()
    if len(runs) == 1:
        return f"{word} {runs[0].run} at {speeds} kt is"
    return f"{word}s {', '.join(str(run.run) for run in runs)} at {speeds} kt are"


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


def _benched(runs: Sequence[RunLine]) -> bool:
    """Tell whether a bench check of the indicator was applied."""
    terms = [term for run in runs for term in run.terms if term.name == INDICATOR]
    return any(not term.note.endswith(NO_CHECK) for term in terms)


def _port_share(runs: Sequence[RunLine]) -> Iterator[str]:
    """Say what a bench check of the indicator would add, where there was none."""
    unchecked = [t for run in runs for t in run.terms if t.name == INDICATOR]
    if not any(term.note.endswith(NO_CHECK) for term in unchecked):
        return
    port = _range([run.U95_dvpc_kt for run in runs])
    yield (
        "The corrections hold for the indicator that was read. It was not checked on a bench, so "
        f"how much of them is the static port's is known to ±{port} kt only."
    )


def _range(values: Sequence[float]) -> str:
    low, high = decimal(min(values)), decimal(max(values))
    return low if low == high else f"{low} to {high}"
