"""Put a new reduction of a flight in the place of the stored one, and remember what it replaced."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass, replace
from typing import Any

from sqlalchemy.orm import Session

from fleetcal.errors import DataError
from fleetcal.records import BudgetTerm, Leg, Point, content_of, values_of
from fleetcal.store.exchange.carry_decisions import carried_powers
from fleetcal.store.exchange.collect_flown import POINT_FIELDS, collect_flown
from fleetcal.store.exchange.entries import Entry, Key
from fleetcal.store.exchange.keep_replaced import keep_replaced
from fleetcal.store.exchange.parent_rows import Parents
from fleetcal.store.exchange.write_flights import write_flights
from fleetcal.store.explained import refusals_named
from fleetcal.store.new_rows import NewSortie
from fleetcal.version import __version__


@dataclass(frozen=True)
class KeptDecision:
    """What is decided of a point; `decided_at` is None where nobody has decided."""

    accepted: bool
    reason: str
    decided_at: str | None


@dataclass(frozen=True)
class StoredReduction:
    """A sortie as the store has it.

    Attributes:
        entry: All flights of its file and airframe.
        place: Of the sortie among them.
    """

    entry: Entry
    place: int

    @property
    def legs(self) -> list[dict[str, Any]]:
        """Its legs, by run and number."""
        return list(self.entry.content["sorties"][self.place]["legs"])

    @property
    def points(self) -> list[dict[str, Any]]:
        """Its points, by number."""
        return list(self.entry.content["sorties"][self.place]["points"])

    @property
    def standings(self) -> list[KeptDecision]:
        """What is decided of its points."""
        state = self.entry.state["sorties"][self.place]
        return [KeptDecision(**decision) for decision in state["decisions"]]


def stored_reduction(session: Session, sha256: str, tag: str, sortie_id: int) -> StoredReduction:
    """Return a sortie with its legs, points, budgets and decisions.

    Args:
        sha256, tag: Of its file and airframe.

    Raises:
        DataError: If it is gone.
    """
    entry = _entries(session, sha256).get(("flights", (sha256, tag)))
    if entry is None or sortie_id not in entry.rows:
        raise DataError(f"sortie {sortie_id} of {tag} is gone", "it was changed meanwhile")
    return StoredReduction(entry, entry.rows.index(sortie_id))


def replace_flight(
    session: Session,
    kept: StoredReduction,
    sortie: NewSortie,
    legs: Iterable[Leg],
    points: Sequence[Point],
    decided: Sequence[KeptDecision],
) -> None:
    """Replace legs, points and budgets of a sortie; its number, climbs, log and powers stay.

    Args:
        session: Of a writing transaction.
        kept: What is to be replaced, as it was when the new reduction was compared with it.
        decided: Of each point.

    Raises:
        DataError: If it was changed meanwhile, or a value breaks a rule.
    """
    name = kept.entry.name
    sha256, tag = kept.entry.key
    before = _entries(session, sha256)
    own = before.get(name)
    if own is None or (own.digest, own.state) != (kept.entry.digest, kept.entry.state):
        raise DataError(f"the flight of {tag} was changed meanwhile", "do it again")
    content = {
        "flown_on": sortie.flown_on.isoformat(),
        "weight_kg": float(sortie.weight_kg),
        "track_reference": sortie.track_reference,
        "settings_json": sortie.settings_json,
        "note": sortie.note,
        "legs": [content_of(Leg, _plain(values_of(Leg, leg))) for leg in legs],
        "points": [_point(point) for point in points],
    }
    before_now, stood = (part["sorties"][kept.place] for part in (own.content, own.state))
    nothing = [None] * len(points)
    state = {
        **stood,
        "program_version": __version__,
        "decisions": [asdict(one) for one in decided],
        "powers": carried_powers(content, before_now, nothing, stood["powers"]),
    }
    entry = replace(
        own,
        content={"sorties": _with(own.content["sorties"], kept.place, content)},
        state={"sorties": _with(own.state["sorties"], kept.place, state)},
    )
    with refusals_named(f"sortie of {sortie.airframe} on {sortie.flown_on}"):
        write_flights(session, Parents(session), own, entry)
    keep_replaced(session, before, _entries(session, sha256), "the flight was reduced again")


def _entries(session: Session, sha256: str) -> dict[Key, Entry]:
    return {entry.name: entry for entry in collect_flown(session, (), {sha256})}


def _with(sorties: Sequence[Any], place: int, one: Any) -> list[Any]:
    return [*sorties[:place], one, *sorties[place + 1 :]]


def _point(point: Point) -> dict[str, Any]:
    values = {name: getattr(point, name) for name in POINT_FIELDS}
    terms = [_plain(values_of(BudgetTerm, term)) for term in point.terms]
    return {**content_of(Point, _plain(values)), "terms": terms}


def _plain(values: dict[str, Any]) -> dict[str, Any]:
    """Return values as the database gives them back."""
    return {name: _one(value) for name, value in values.items()}


def _one(value: Any) -> Any:
    plain = value.item() if hasattr(value, "item") else value
    if isinstance(plain, float):
        return None if math.isnan(plain) else plain + 0.0
    return plain
