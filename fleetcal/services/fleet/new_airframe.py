"""An airframe that is kept by its tag alone, and tags that were mistyped."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from fleetcal.errors import DataError, MalformedFileError, StoreError, UnknownNameError
from fleetcal.services.chosen_store import StorePlace, store_at
from fleetcal.store import Store, load_description, open_store, revise_description, unknown_name
from fleetcal.store.history_rows import list_history
from fleetcal.store.undescribed import undescribed_airframe
from fleetcal.store.undoing import undo_change

if TYPE_CHECKING:
    from sqlalchemy.orm import Session


@dataclass(frozen=True, kw_only=True)
class TagLookup:
    """What a store has for a tag.

    Attributes:
        known: Whether the airframe is in the store.
        store: How the store is called; empty where there is none yet.
        absent: The error for whoever does not add it, None where it is known; its hint names the
            nearest tags.
        same_as: A known tag that is written nearly alike, such as C-07 for C-7; else empty.
    """

    known: bool
    store: str
    absent: DataError | StoreError | None = None
    same_as: str = ""


def look_for_tag(where: str | Path | None, tag: str) -> TagLookup:
    """Look for an airframe; a store that is not there is not begun.

    Args:
        where: Place of the store, as `open_store` takes it.

    Raises:
        StoreError: If the store is there and cannot be read.
    """
    try:
        with open_store(where, create=False) as store, store.reading() as session:
            tags = [one.tag for one in load_description(session).airframes]
            label = store.label
    except StoreError as error:
        if type(error) is not StoreError:  # it is there, but is not to be used
            raise
        return TagLookup(known=False, store="", absent=error)
    if tag in tags:
        return TagLookup(known=True, store=label)
    same = next((one for one in tags if spelt_out(one) == spelt_out(tag)), "")
    return TagLookup(
        known=False, store=label, absent=unknown_name("airframe", tag, tags), same_as=same
    )


def spelt_out(tag: str) -> tuple[str, ...]:
    """Return what of a tag counts: letters in one case, and numbers without leading zeros.

    Returns:
        Equal for C-07, c7 and ``C 007``.
    """
    parts = re.findall(r"[^\W\d_]+|\d+", tag.casefold())
    return tuple(part.lstrip("0") or "0" if part.isdigit() else part for part in parts)


def refuse_bad_tag(tag: str) -> None:
    """Refuse a tag that cannot be printed in a line.

    Raises:
        MalformedFileError: If so.
    """
    if not tag.strip() or tag != tag.strip() or not tag.isprintable():
        raise MalformedFileError(
            f"{tag!r} cannot be the tag of an airframe", "write letters and numbers, such as C-07"
        )


def refuse_same_tag(tag: str, same_as: str) -> None:
    """Refuse to add an airframe whose tag is one that is known, written otherwise.

    Raises:
        UnknownNameError: If `same_as` is not empty.
    """
    if same_as:
        raise UnknownNameError(
            f"there is no airframe {tag!r} in the store, and {same_as} is nearly the same",
            f"did you mean {same_as}? Two airframes need tags that nobody confuses",
        )


def add_airframe(where: StorePlace, tag: str, weight_kg: float | None = None) -> int:
    """Put an airframe of which only the tag is known into the store; begin the store if need be.

    Args:
        where: Place of the store, or the store itself.
        weight_kg: Taken as its reference weight, if any is known.

    Returns:
        Number of the change, to take it back by.
    """
    refuse_bad_tag(tag)
    with store_at(where) as store:
        new = undescribed_airframe(tag, weight_kg)
        store.write(lambda session: revise_description(session, new))
        return newest_change(store, tag)


def newest_change(store: Store, tag: str) -> int:
    """Return the number of what was done last to an airframe."""
    with store.reading() as session:
        return max(line.change for line in list_history(session, tag))


def take_airframe_back(where: StorePlace, tag: str, change: int) -> None:
    """Take an airframe out of the store again that came with no flight.

    Args:
        change: That added it; nothing happens once anything rests on it.
    """

    def work(session: Session) -> None:
        if list_history(session, tag)[-1].change == change:
            undo_change(session, change)

    with store_at(where, create=False) as store:
        store.write(work)
