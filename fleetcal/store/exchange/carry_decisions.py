"""What somebody decided or noted of a run stands when another reduction of it takes its place."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from fleetcal.store.exchange.entries import Entry
from fleetcal.store.exchange.merge_state import later, later_power
from fleetcal.store.exchange.same_runs import flown_points, pairs_of


def carried_state(winner: Entry, loser: Entry) -> Mapping[str, Any]:
    """Return the state of an entry with the decisions on what it replaces, and its powers.

    Args:
        winner, loser: Of one key.

    Returns:
        Of flights, each point has the last decision that somebody took on its run in either, and
        the power noted last; of other entries it is the winner's own.
    """
    if winner.kind != "flights":
        return winner.state
    here, there = winner.content["sorties"], loser.content["sorties"]
    if len(here) != len(there):
        return winner.state
    states = zip(winner.state["sorties"], loser.state["sorties"], strict=True)
    pairs = zip(here, there, states, strict=True)
    return {"sorties": [_carried(now, old, *both) for now, old, both in pairs]}


def _carried(
    now: Mapping[str, Any],
    old: Mapping[str, Any],
    state: Mapping[str, Any],
    gone: Mapping[str, Any],
) -> dict[str, Any]:
    decisions = [dict(decision) for decision in state["decisions"]]
    for i, j in _same_runs(now, old):
        decision = gone["decisions"][i]
        if decision["decided_at"] is not None and later(decision) > later(decisions[j]):
            decisions[j] = dict(decision)
    powers = carried_powers(now, old, state["powers"], gone["powers"])
    return {**state, "decisions": decisions, "powers": powers}


def carried_powers(
    now: Mapping[str, Any], old: Mapping[str, Any], powers: Sequence[Any], gone: Sequence[Any]
) -> list[Any]:
    """Return the powers of the points of a sortie, with those of the sortie it replaces.

    Args:
        now, old: Contents of the sorties, with legs and points.
        powers, gone: Of each point now and before: what is noted, None where nothing is.

    Returns:
        Of each point now.
    """
    found = list(powers)
    for i, j in _same_runs(now, old):
        found[j] = later_power(gone[i], found[j])
    return found


def _same_runs(now: Mapping[str, Any], old: Mapping[str, Any]) -> list[tuple[int, int]]:
    """Return the places of one run in the sortie before and in the one now."""
    return pairs_of(*(flown_points(sortie["points"], sortie["legs"]) for sortie in (old, now)))
