"""Legs as somebody picks them on a page, and the choices that they come to."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from fleetcal.errors import MalformedFileError
from fleetcal.services.flights.chosen_legs import ChosenLeg, legs_as_values
from fleetcal.services.flights.read_flight import Flight
from fleetcal.services.flights.reduction import HandChoices

#: More than anybody flies in one flight.
MOST_LEGS = 400


@dataclass(frozen=True, kw_only=True)
class PickedLeg:
    """One leg, with its times from the first sample.

    Attributes:
        run: From 1.
    """

    run: int
    start_s: float
    stop_s: float
    left_out: bool = False


def found_legs(flight: Flight) -> tuple[PickedLeg, ...]:
    """Return the legs that the program found, by run; none where they have no times."""
    return tuple(
        PickedLeg(run=run.number or place, start_s=leg.start_s, stop_s=leg.stop_s)
        for place, run in enumerate(flight.runs, 1)
        for leg in run.legs
        if leg.start_s is not None and leg.stop_s is not None and flight.recorded is not None
    )


def choices_of(picked: Sequence[PickedLeg], found: Sequence[PickedLeg]) -> HandChoices:
    """Return what was decided: nothing, some legs left out, or legs cut in another way.

    Raises:
        MalformedFileError: If there are too many legs, a run has no number, or none is left in.
    """
    if len(picked) > MOST_LEGS:
        raise MalformedFileError(
            f"{len(picked)} legs were picked", f"pick at most {MOST_LEGS} of one flight"
        )
    for leg in picked:
        if leg.run < 1:
            raise MalformedFileError(f"run {leg.run}: no number of a run", "number runs from 1")
    if _where(picked) == _where(found):
        return HandChoices(drop=tuple(_dropped(picked)))
    return HandChoices(
        legs=legs_as_values(
            [
                ChosenLeg(run=leg.run, start_s=leg.start_s, stop_s=leg.stop_s)
                for leg in _in_order(picked)
                if not leg.left_out
            ]
        )
    )


def _in_order(legs: Sequence[PickedLeg]) -> list[PickedLeg]:
    return sorted(legs, key=lambda leg: (leg.run, leg.start_s))


def _where(legs: Sequence[PickedLeg]) -> list[tuple[int, float, float]]:
    return [(leg.run, leg.start_s, leg.stop_s) for leg in _in_order(legs)]


def _dropped(legs: Sequence[PickedLeg]) -> list[tuple[int, int]]:
    """Return run and number within the run of the legs that are left out."""
    numbers: dict[int, int] = {}
    dropped = []
    for leg in _in_order(legs):
        numbers[leg.run] = numbers.get(leg.run, 0) + 1
        if leg.left_out:
            dropped.append((leg.run, numbers[leg.run]))
    return dropped
