"""Bring what share files of older versions hold to what the newest version says."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from fleetcal.store.exchange.entries import Entries, Entry
from fleetcal.store.renumbering import READ_FOR_NO_RUN, read_for_another_run
from fleetcal.store.run_numbers import runs_of_points


def with_all_parts(entries: Entries, version: int) -> Entries:
    """Return the entries of a share file with all parts that entries have now.

    Args:
        version: Of the file.
    """
    return _without_powers(_without_bare(entries)) if version == 1 else entries


def with_run_numbers(entries: Entries, version: int) -> Entries:
    """Return the entries of a share file with points that have the number of their run.

    Before version 3 points were counted over the solved runs, and powers were read from logs
    over the legs of the run that had the number of the point.

    Args:
        entries: That hold together.
        version: Of the file.
    """
    if version > 2:
        return entries
    return {
        name: _with_run_numbers(entry) if entry.kind == "flights" else entry
        for name, entry in entries.items()
    }


def _without_bare(entries: Entries) -> Entries:
    """Leave out flights without legs and points: their climbs were not carried then."""
    return {
        name: entry
        for name, entry in entries.items()
        if entry.kind != "flights"
        or not all(_is_bare(sortie) for sortie in entry.content["sorties"])
    }


def _is_bare(sortie: Mapping[str, Any]) -> bool:
    return not sortie["legs"] and not sortie["points"]


def _without_powers(entries: Entries) -> Entries:
    """Say of flights that no power is noted: powers were not carried then."""
    found = dict(entries)
    for name, entry in entries.items():
        if entry.kind == "flights":
            sorties = [
                {**state, "powers": [None] * len(state["decisions"])}
                for state in entry.state["sorties"]
            ]
            found[name] = replace(entry, state={"sorties": sorties})
    return found


def _with_run_numbers(entry: Entry) -> Entry:
    pairs = zip(entry.content["sorties"], entry.state["sorties"], strict=True)
    mended = [_mended(sortie, state) for sortie, state in pairs]
    content = {"sorties": [sortie for sortie, _ in mended]}
    found = replace(entry, content=content, state={"sorties": [state for _, state in mended]})
    return replace(found, replaced=found.replaced - {found.digest})


def _mended(
    sortie: Mapping[str, Any], state: Mapping[str, Any]
) -> tuple[Mapping[str, Any], Mapping[str, Any]]:
    """Return a sortie and its state with run numbers; powers of another run are marked."""
    points = sortie["points"]
    numbers = runs_of_points(points, sortie["legs"])
    lines = []
    for i, (point, decision, power) in enumerate(
        zip(points, state["decisions"], state["powers"], strict=True)
    ):
        number = point["number"] if numbers is None else numbers[i]
        doubt = "" if number == point["number"] else read_for_another_run(point["number"], number)
        doubt = READ_FOR_NO_RUN if numbers is None else doubt
        lines.append(({**point, "number": number}, decision, _doubted(power, doubt)))
    lines.sort(key=lambda line: line[0]["number"])
    return (
        {**sortie, "points": [point for point, _, _ in lines]},
        {
            **state,
            "decisions": [decision for _, decision, _ in lines],
            "powers": [power for _, _, power in lines],
        },
    )


def _doubted(power: Mapping[str, Any] | None, doubt: str) -> Mapping[str, Any] | None:
    return power and {**power, "doubt": doubt if power["origin"] == "log" else ""}
