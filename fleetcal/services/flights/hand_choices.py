"""Legs and runs that somebody decided to leave out, or to cut in another way."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from fleetcal.errors import DataError
from fleetcal.services.flights.chosen_legs import LegList, read_leg_list
from fleetcal.services.flights.leg_list import listed_legs
from fleetcal.services.flights.read_flight import Flight, GroupedLegs
from fleetcal.services.flights.reduction import HandChoices
from fleetcal.services.flights.settings_file import ReductionSettings


@dataclass(frozen=True)
class ChosenFlight:
    """A flight after the decisions by hand.

    Attributes:
        notes: The decisions in words.
        document: The decisions, to be kept with the sortie; None when there were none.
        mapping: Name and text of the file that says what the columns are, to be kept too.
    """

    flight: Flight
    notes: tuple[str, ...] = ()
    document: dict[str, Any] | None = None
    mapping: dict[str, str] | None = None


def apply_choices(
    flight: Flight, choices: HandChoices, solve_by: str, settings: ReductionSettings
) -> ChosenFlight:
    """Mark what somebody decided to leave out, or cut the legs as listed.

    Args:
        solve_by: ``legs``; the choices are between legs.

    Raises:
        DataError: If a run or leg is not in the flight, or the list of legs is wrong.
    """
    if not choices.any:
        return ChosenFlight(flight)
    if solve_by != "legs":
        raise DataError(
            f"{flight.source_name}: legs cannot be chosen where no legs are solved",
            "leave one of the two out",
        )
    listed = choices.legs
    if choices.leg_list is not None:
        listed = _read_alone(choices.leg_list, choices)
    if listed is not None:
        return _as_listed(flight, listed, settings)
    runs = dict(enumerate(flight.runs, 1))
    _check(flight.source_name, runs, choices)
    chosen = tuple(_chosen(number, run, choices) for number, run in runs.items())
    notes = [f"leg {leg} of run {run} left out" for run, leg in sorted(set(choices.drop))]
    if choices.keep:
        word = "run" if len(set(choices.keep)) == 1 else "runs"
        notes.append(f"only {word} {', '.join(str(n) for n in sorted(set(choices.keep)))} kept")
    document = {
        "dropped_legs": [list(pair) for pair in sorted(set(choices.drop))],
        "kept_runs": sorted(set(choices.keep)),
    }
    return ChosenFlight(replace(flight, runs=chosen), tuple(notes), document)


def _read_alone(path: Path, choices: HandChoices) -> LegList:
    """Read the list of legs, which leaves nothing else to choose."""
    if choices.drop or choices.keep:
        raise DataError(
            f"{path.name}: a list of legs, and legs or runs to leave out, were given",
            "edit the list instead",
        )
    return read_leg_list(path)


def _as_listed(flight: Flight, chosen: LegList, settings: ReductionSettings) -> ChosenFlight:
    if flight.recorded is None:
        raise DataError(
            f"{flight.source_name}: legs written by hand cannot be cut by a list",
            "edit the sheet itself",
        )
    found = [leg for run in flight.runs for leg in run.legs]
    listed = listed_legs(chosen, flight.recorded, settings.legs, found)
    count = sum(len(run.legs) for run in listed.runs)
    cut = replace(
        flight,
        runs=listed.runs,
        leg_count=count,
        warnings=(*flight.warnings, *listed.warnings),
    )
    return ChosenFlight(cut, (chosen.noted(count),), {"leg_list": listed.document})


def _check(name: str, runs: dict[int, GroupedLegs], choices: HandChoices) -> None:
    for run in (*choices.keep, *(run for run, _ in choices.drop)):
        if run not in runs:
            raise DataError(
                f"{name}: there is no run {run} in the flight",
                f"runs are numbered 1 to {len(runs)}" if runs else "no run was found at all",
            )
    for run, leg in choices.drop:
        if not 1 <= leg <= len(runs[run].legs):
            raise DataError(
                f"{name}: there is no leg {leg} in run {run}",
                f"its legs are numbered 1 to {len(runs[run].legs)}",
            )


def _chosen(number: int, run: GroupedLegs, choices: HandChoices) -> GroupedLegs:
    return replace(
        run,
        dropped=tuple(sorted({leg for of, leg in choices.drop if of == number})),
        left_out=bool(choices.keep) and number not in choices.keep,
    )
