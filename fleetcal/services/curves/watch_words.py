"""What is said of a watch on one airframe."""

from __future__ import annotations

from typing import Final

from fleetcal.fleet.scan_chance import FEWEST_FLIGHTS
from fleetcal.fleet.watch import HORIZON, SERIES
from fleetcal.services.curves.watched_flights import (
    CHANGED,
    TOO_FEW,
    SizeRow,
    Watched,
    WatchedChange,
    WatchedFlight,
)
from fleetcal.wording import counted, decimal, p_words, with_sign

OFF_BY_ITSELF: Final = "off by itself"
_ADVICE: Final = "look for a leak, a touched static line or a repainted port"
_MODEL: Final = (
    "kappa a quadratic in (Vs/Viw)^2 and steps of level, flights random about it in level and "
    "tilt (half-t prior with four degrees of freedom and scale 0.5 kt at 100 kt), variances of the "
    "points times a factor of 1 or more, all averaged by restricted likelihood; errors of the "
    "airframe's own instruments the same in all flights"
)


def verdict_words(found: Watched) -> str:
    """Return the answer in one sentence, without a full stop."""
    flights, first = len(found.flights), found.flights[0].flown_on
    if found.outcome == TOO_FEW:
        have = "its 1 flight is" if flights == 1 else f"its {flights} flights are"
        return (
            f"{found.airframe}: {have} too few to tell whether its airspeed error changed; "
            f"{FEWEST_FLIGHTS} are needed"
        )
    if found.outcome == CHANGED and len(found.changes) == 1:
        return found.changes[0].sentence
    if found.outcome == CHANGED:
        steps = ", then ".join(_step_words(one) for one in found.changes)
        return (
            f"{found.airframe}'s airspeed error changed {len(found.changes)} times over its "
            f"{flights} flights since {first}: {steps}; {_ADVICE}"
        )
    return (
        f"{found.airframe}'s airspeed error has not changed over its {flights} flights since "
        f"{first}: no step is larger than chance makes in 1 of {SERIES} such series"
    )


def change_words(airframe: str, change: WatchedChange) -> str:
    """Return a change in one sentence, without a full stop."""
    size = change.middle
    return (
        f"{airframe} reads {_reads(size)} since {_between(change)} ({_band(size)}): "
        f"{change.known_change or _ADVICE}"
    )


def size_words(change: WatchedChange) -> str:
    """Return the size of a change at all its speeds, and where else it may lie."""
    sizes = ", ".join(
        f"{with_sign(one.change_kt)} kt at {one.ias_kt:.0f} kt "
        f"({with_sign(one.low_kt)} to {with_sign(one.high_kt)})"
        for one in change.sizes
    )
    certain = change.perhaps_after_flight == change.last_flight_before
    certain &= change.perhaps_before_flight == change.first_flight_after
    where = (
        ""
        if certain
        else f" It may lie anywhere between flights {change.perhaps_after_flight} and "
        f"{change.perhaps_before_flight} (95 %)."
    )
    known = f" There {change.known_change}." if change.known_change else ""
    return (
        f"Correction from flight {change.first_flight_after} on, against before: {sizes}."
        f"{where}{known} First found after the flight of {change.raised_on}."
    )


def hints_on(found: Watched, *, earlier: bool) -> tuple[str, ...]:
    """Return which commands say more, without full stops.

    Args:
        earlier: Whether the airframe flew with another static source before.
    """
    tag, hints = found.airframe, []
    if earlier:
        hints.append(f"What it flew with other static sources: 'fleetcal change {tag}'")
    hints += [
        f"Before and after the new equipment: 'fleetcal change {tag} --before "
        f"..{one.last_day_before} --after {one.first_day_after}..'"
        for one in found.changes
        if one.known_change
    ]
    return tuple(hints)


def notes_on(found: Watched) -> tuple[str, ...]:
    """Return what the answer rests on, without full stops."""
    points = sum(one.points for one in found.flights)
    notes = [
        f"Watched: {counted(len(found.flights), 'flight')}, {counted(points, 'point')}, with the "
        f"{found.static_source}, fitted on {found.since}"
    ]
    notes += [f"New {one.what} on {one.day}" for one in found.known_changes]
    notes += _odd_words(found)
    if found.more_changes:
        notes.append("More changes follow, which are not dated")
    if found.outcome != CHANGED and found.p_value is not None:
        notes.append(
            "The least likely step: p-value, for all places and after every flight, "
            f"{p_words(found.p_value)}"
        )
    if found.smallest_found_kt is not None:
        step = "Another step" if found.changes else "A step"
        notes.append(
            f"{step} of {decimal(found.smallest_found_kt)} kt at {found.ias_kt:.0f} kt, "
            f"{counted(found.smallest_after_flights or 0, 'flight')} old, would have been found in "
            "8 of 10 cases"
        )
    if found.false_alarm_chance:
        notes.append(
            f"A series of {len(found.flights)} flights without a change raises a false alarm in 1 "
            f"of {_round(1.0 / found.false_alarm_chance)} cases, one of {HORIZON} flights in 1 of "
            f"{SERIES}, if flights scatter as the model says"
        )
    return tuple(notes)


def model_words(found: Watched) -> str:
    """Return what was fitted."""
    return (
        f"{_MODEL}; flights scatter by about {decimal(found.scatter_kt)} kt beyond what is stated"
    )


def _odd_words(found: Watched) -> list[str]:
    odd = [one for one in found.flights if OFF_BY_ITSELF in one.mark]
    words = []
    for one in odd:
        what = f"Flight {one.flight} ({one.flown_on}) is off by itself by {_off(one)}"
        last = one.flight == len(found.flights)
        what += ": one flight is not yet a change; fly another" if last else ""
        words.append(what)
    return words


def _off(one: WatchedFlight) -> str:
    return f"{with_sign(one.from_own_kt - one.level_kt)} kt"


def _reads(size: SizeRow) -> str:
    word = "slower" if size.change_kt > 0.0 else "faster"
    return f"{decimal(abs(size.change_kt))} kt {word} at {size.ias_kt:.0f} kt"


def _band(size: SizeRow) -> str:
    sign = 1.0 if size.change_kt > 0.0 else -1.0
    low, high = sorted((sign * size.low_kt, sign * size.high_kt))
    return f"95 % band {decimal(low)} to {decimal(high)}"


def _between(change: WatchedChange) -> str:
    return (
        f"between {change.last_day_before} (flight {change.last_flight_before}) and "
        f"{change.first_day_after} (flight {change.first_flight_after})"
    )


def _step_words(change: WatchedChange) -> str:
    after = f"after flight {change.last_flight_before} ({change.last_day_before})"
    return f"{_reads(change.middle)} {after}"


def _round(value: float) -> int:
    """Return a number with two digits that count."""
    digits = max(len(str(int(value))) - 2, 0)
    return int(round(value, -digits))
