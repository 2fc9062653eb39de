"""What somebody decided of a run stands when another reduction of it takes its place."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from fleetcal.store.exchange.merge_state import later
from fleetcal.store.exchange.same_runs import flown_points, pairs_of
from fleetcal.store.exchange.things import Thing


def carried_state(winner: Thing, loser: Thing) -> Mapping[str, Any]:
    """Return the state of a thing with the decisions on what it replaces.

    Parameters
    ----------
    winner, loser : Thing
        Of one key.

    Returns
    -------
    mapping
        Of flights, each point has the last decision that somebody took on its run in
        either; of other things it is the winner's own.
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
    flown = [flown_points(sortie["points"], sortie["legs"]) for sortie in (old, now)]
    decisions = [dict(decision) for decision in state["decisions"]]
    for i, j in pairs_of(*flown):
        decision = gone["decisions"][i]
        if decision["decided_at"] is not None and later(decision) > later(decisions[j]):
            decisions[j] = dict(decision)
    return {**state, "decisions": decisions}
