"""See whose airframes and types are what, hand them over, and give keys a person's name."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Final

from fleetcal.errors import DataError
from fleetcal.services.sharing.signing_key import key_file, own_signer, signer_by_need
from fleetcal.store import Store
from fleetcal.store.owner_rows import (
    NOBODY,
    OWN,
    Owners,
    learn_people,
    load_owners,
    set_coordinator,
    set_owner,
)
from fleetcal.store.person import Person

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

__all__ = ["NOBODY", "OWN", "OwnerLine", "OwnersShown", "give", "owners_shown"]

_KEY: Final = re.compile(r"[0-9a-f]{64}")
_THIS_STORE: Final = "this store"


@dataclass(frozen=True, kw_only=True)
class OwnerLine:
    """Whose one airframe or type is.

    Attributes:
        of: ``airframe`` or ``type``.
        owner: In words: a person, this store, or nobody.
        public_key: Empty where no key is known.
        decides: Whether a coordinator speaks for the airframes of the type too.
    """

    of: str
    name: str
    owner: str
    public_key: str
    decides: bool


@dataclass(frozen=True, kw_only=True)
class OwnersShown:
    """Owners of a store, and who signs here.

    Attributes:
        signer: Name and key in short; empty where no key was made yet.
        public_key: In full, for others to enter; empty likewise.
        known: Everybody whose key the store knows.
    """

    signer: str
    public_key: str
    key_file: str
    lines: tuple[OwnerLine, ...]
    known: tuple[str, ...]

    @property
    def own_words(self) -> str:
        """How many airframes are this store's own, in a sentence; empty where none is."""
        airframes = [one for one in self.lines if one.of == "airframe"]
        own = sum(one.owner == _THIS_STORE for one in airframes)
        if own == len(airframes) > 0:
            return (
                "The one airframe: this store." if own == 1 else f"All {own} airframes: this store."
            )
        return f"{own} of {len(airframes)} airframes: this store." if own else ""

    @property
    def others(self) -> tuple[OwnerLine, ...]:
        """Types, and the airframes that are not this store's own."""
        return tuple(one for one in self.lines if (one.of, one.owner) != ("airframe", _THIS_STORE))


def owners_shown(store: Store) -> OwnersShown:
    """Return whose airframes and types are what.

    Raises:
        DataError: If the key that signs here is damaged or open to others.
    """
    with store.reading() as session:
        owners = load_owners(session)
    signer = own_signer()
    mine = signer.person if signer is not None else None
    airframes = [
        OwnerLine(
            of="airframe",
            name=tag,
            owner=owner_in_words(owners, owner, mine),
            public_key="" if owner in (OWN, NOBODY) else owner,
            decides=False,
        )
        for tag, owner in sorted(owners.airframes.items())
    ]
    types = [
        OwnerLine(
            of="type",
            name=name,
            owner=owner_in_words(owners, key or NOBODY, mine),
            public_key=key,
            decides=name in owners.deciding,
        )
        for name, key in sorted(owners.coordinators.items())
    ]
    return OwnersShown(
        signer="" if mine is None else mine.shown,
        public_key="" if mine is None else mine.key,
        key_file=str(key_file()),
        lines=(*types, *airframes),
        known=tuple(sorted(person.shown for person in owners.people.values())),
    )


def owner_in_words(owners: Owners, owner: str, mine: Person | None) -> str:
    """Return an owner in words.

    Args:
        owner: A public key, `OWN` or `NOBODY`.
        mine: Who signs here.
    """
    if owner == OWN:
        return _THIS_STORE
    if owner == NOBODY:
        return "nobody"
    shown = owners.person(owner).shown
    return f"{mine.shown}, who signs here" if mine is not None and owner == mine.key else shown


def give(
    store: Store,
    owner: str | None,
    *,
    airframes: Sequence[str] = (),
    kind: str | None = None,
    decides: bool = False,
) -> tuple[str, ...]:
    """Say whose airframes are, or who coordinates a type.

    Args:
        owner: `NOBODY`; a public key in full, or in short if it is known; None for whoever keeps
            this store.
        airframes: Tags.
        kind: Name of a type.
        decides: Whether the coordinator speaks for the type's airframes too.

    Returns:
        A sentence for each.

    Raises:
        DataError: If nothing is named, or a key is not known.
        UnknownNameError: If a name is not in the store; then nothing is changed.
    """
    if not airframes and kind is None:
        raise DataError("neither an airframe nor a type is named", "name a tag, or a --type")
    # A coordinator is a key, so this needs one; whose airframes are this store's own does not.
    signer = signer_by_need() if kind is not None and owner is None else own_signer()
    mine = signer.person if signer is not None else None

    def work(session: Session) -> tuple[str, ...]:
        owners = load_owners(session)
        key = owner if owner in (None, NOBODY) else _found(owner or "", owners, mine)
        if key not in (None, NOBODY):
            known = mine is not None and key == mine.key
            learn_people(session, [] if known else [Person(key or "")], datetime.now(UTC))
            owners = load_owners(session)
        done = []
        for tag in airframes:
            new = OWN if key is None else key
            set_owner(session, tag, new)
            done.append(f"The owner of {tag} is {owner_in_words(owners, new, mine)}.")
        if kind is not None:
            coordinator = key.replace(NOBODY, "") if key is not None else mine.key if mine else ""
            set_coordinator(session, kind, coordinator, decides=decides)
            words = owner_in_words(owners, coordinator or NOBODY, mine)
            more = ", also for its airframes" if decides and coordinator else ""
            done.append(f"The coordinator of {kind} is {words}{more}.")
        return tuple(done)

    return store.write(work)


def _found(given: str, owners: Owners, mine: Person | None) -> str:
    """Return the public key that was given in full or in short."""
    short = given.strip().lower()
    if _KEY.fullmatch(short):
        return short
    known = list(owners.people.values())
    if mine is not None:
        known.append(mine)
    found = {one.key for one in known if one.mark == short}
    if len(found) != 1:
        raise DataError(
            f"no key {given!r} is known here",
            "'fleetcal owners list' shows those that are; ask its owner for the public key of 64 "
            "digits that the same command shows there",
        )
    return found.pop()
