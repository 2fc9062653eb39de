"""Whose airframes and types are what, and the keys that are known.

An airframe that was made in this store is the store's own until something else is said: the
word of whoever signs from here counts for it. One that came with a share is its owner's by
the word of that share, on first use; where a share says nothing, it is nobody's. A type has
no coordinator until one is named.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from sqlalchemy import select
from sqlalchemy.orm import Session

from fleetcal.store.airframe_lookup import find_airframe
from fleetcal.store.models import AircraftType, Airframe, KnownKey
from fleetcal.store.names import unknown_name
from fleetcal.store.person import Person

#: Owner of an airframe made in this store; where a type has no coordinator.
OWN: Final = ""
NOBODY: Final = "nobody"


@dataclass(frozen=True, kw_only=True)
class Owners:
    """Whose word counts in a store.

    Attributes:
        airframes: By tag: a public key, `OWN` or `NOBODY`.
        coordinators: By type: a public key, or empty.
        deciding: Types whose coordinator speaks for their airframes too.
        types: Of each airframe, by tag.
        people: Known, by public key.
    """

    airframes: dict[str, str]
    coordinators: dict[str, str]
    deciding: frozenset[str]
    types: dict[str, str]
    people: dict[str, Person]

    def person(self, key: str) -> Person:
        """Return who has a key, under the name known here."""
        return self.people.get(key, Person(key))


def load_owners(session: Session) -> Owners:
    """Return whose word counts."""
    kinds = session.execute(
        select(AircraftType.name, AircraftType.coordinator, AircraftType.coordinator_decides)
    ).all()
    airframes = session.execute(
        select(Airframe.tag, Airframe.owner, AircraftType.name).join(
            AircraftType, AircraftType.id == Airframe.aircraft_type_id
        )
    ).all()
    known = session.execute(select(KnownKey.public_key, KnownKey.name)).all()
    return Owners(
        airframes={tag: owner for tag, owner, _ in airframes},
        coordinators={name: key for name, key, _ in kinds},
        deciding=frozenset(name for name, key, decides in kinds if key and decides),
        types={tag: kind for tag, _, kind in airframes},
        people={key: Person(key, name) for key, name in known},
    )


def learn_people(session: Session, people: Iterable[Person], now: datetime) -> None:
    """Keep keys and names that were not known; a name that is known for a key stays.

    Args:
        session: Of a writing transaction.
        now: Aware.
    """
    known = {row.public_key: row for row in session.scalars(select(KnownKey))}
    for person in sorted(people, key=lambda one: one.key):
        row = known.get(person.key)
        if row is None:
            row = KnownKey(public_key=person.key, name=person.name, first_seen=now)
            session.add(row)
            known[person.key] = row
        elif person.name and not row.name:
            row.name = person.name
    session.flush()


def set_owner(session: Session, tag: str, owner: str) -> None:
    """Say whose an airframe is.

    Args:
        session: Of a writing transaction.
        owner: A public key, `OWN` or `NOBODY`.

    Raises:
        UnknownNameError: If there is no such airframe.
    """
    find_airframe(session, tag).owner = owner
    session.flush()


def set_coordinator(session: Session, kind: str, key: str, *, decides: bool) -> None:
    """Name who coordinates a type.

    Args:
        session: Of a writing transaction.
        key: A public key; empty for nobody.
        decides: Whether that person speaks for the type's airframes too.

    Raises:
        UnknownNameError: If there is no such type.
    """
    row = session.scalar(select(AircraftType).where(AircraftType.name == kind))
    if row is None:
        raise unknown_name("type", kind, session.scalars(select(AircraftType.name)))
    row.coordinator, row.coordinator_decides = key, decides and bool(key)
    session.flush()
