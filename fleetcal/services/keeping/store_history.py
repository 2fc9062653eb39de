"""What was done to a store, by whom and when; and taking it back."""

from __future__ import annotations

from dataclasses import dataclass

from fleetcal.store import StateMark, Store, find_airframe, state_mark
from fleetcal.store.history_rows import HistoryLine, list_history, undo_change

__all__ = ["History", "HistoryLine", "Undone", "history_of", "state_of", "undo"]


@dataclass(frozen=True)
class History:
    """Lines of the history, oldest first."""

    lines: tuple[HistoryLine, ...]


@dataclass(frozen=True)
class Undone:
    """A change that was taken back."""

    change: int
    rows: int


def history_of(store: Store, airframe: str | None = None, point_id: int | None = None) -> History:
    """Return the history, of all or of one airframe or point.

    Args:
        airframe: Tag.

    Raises:
        UnknownNameError: If the airframe or point is not in the store.
    """
    with store.reading() as session:
        if airframe is not None:
            find_airframe(session, airframe)
        return History(tuple(list_history(session, airframe, point_id)))


def undo(store: Store, number: int | None = None) -> Undone:
    """Take a change back, the newest that stands when no number is given.

    Raises:
        DataError: If something later rests on it; then nothing is changed.
    """
    return store.write(lambda session: Undone(*undo_change(session, number)))


def state_of(store: Store) -> StateMark | None:
    """Return what tells the state of a store from any other; None if it was never changed."""
    with store.reading() as session:
        return state_mark(session)
