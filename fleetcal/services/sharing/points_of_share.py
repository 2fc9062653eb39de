"""Points of a share that contradict the legs, kappa or budgets that come with them.

It is the check of 'fleetcal store check', before anything is stored.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from datetime import date
from typing import Any

from fleetcal.errors import ImplausibleError
from fleetcal.records import BudgetTerm, Leg
from fleetcal.services.keeping.points_follow import broken_points
from fleetcal.store import StoredPoint
from fleetcal.store.exchange.entries import Entries, Entry
from fleetcal.store.exchange.moments import as_moment
from fleetcal.wording import counted

_NAMED = 5


def refuse_contradictions(entries: Entries, flights: Iterable[Entry], name: str) -> None:
    """Raise if points of some flights do not follow from what they rest on.

    Args:
        entries: Among which the files of the flights are.
        name: Of the share file.

    Raises:
        ImplausibleError: If so; it names the points.
    """
    found = [one for entry in flights for one in _contradictions(entry, entries)]
    if not found:
        return
    more = f"; and {len(found) - _NAMED} more" if len(found) > _NAMED else ""
    raise ImplausibleError(
        f"{name}: {counted(len(found), 'contradiction')}: {'; '.join(found[:_NAMED])}{more}",
        "nothing was stored; ask for the file again once 'fleetcal store check' finds no faults "
        "in the store that it comes from",
    )


def _contradictions(entry: Entry, entries: Entries) -> Iterator[str]:
    file = entries["file", (entry.key[0],)].state["name"]
    pairs = zip(entry.content["sorties"], entry.state["sorties"], strict=True)
    for number, (sortie, state) in enumerate(pairs, 1):
        points = list(_points(entry, number, sortie, state, file))
        legs = {number: [Leg(**leg) for leg in sortie["legs"]]}
        for where, what in broken_points(points, legs, {number: sortie["settings_json"]}):
            yield f"{where}, {sortie['flown_on']}, sortie {number} of {file}: {what}"


def _points(
    entry: Entry, number: int, sortie: Mapping[str, Any], state: Mapping[str, Any], file: str
) -> Iterator[StoredPoint]:
    """Yield the points of a sortie; they are called by their numbers in it."""
    for point, decision in zip(sortie["points"], state["decisions"], strict=True):
        values = {name: value for name, value in point.items() if name != "terms"}
        yield StoredPoint(
            **values,
            terms=tuple(BudgetTerm(**term) for term in point["terms"]),
            accepted=decision["accepted"],
            reason=decision["reason"],
            point_id=point["number"],
            sortie_id=number,
            airframe=str(entry.key[1]),
            flown_on=date.fromisoformat(sortie["flown_on"]),
            source_name=file,
            track_reference=sortie["track_reference"],
            decided_at=as_moment(decision["decided_at"] or state["added_at"]),
            type="",
            static_source="",
            engine="",
            propeller="",
            pitot="",
        )
