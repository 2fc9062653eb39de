"""What was done to a store, by whom and when; and taking it back."""

from __future__ import annotations

from dataclasses import dataclass

from fleetcal.store import StateMark, Store, find_airframe, state_mark
from fleetcal.store.history_rows import HistoryLine, list_history
from fleetcal.store.undoing import undo_change
from fleetcal.store.who_writes import who_writes

__all__ = ["History", "HistoryLine", "Undone", "history_of", "person_of", "state_of", "undo"]


@dataclass(frozen=True)
class History:
    """Lines of the history, oldest first."""

    lines: tuple[HistoryLine, ...]


@dataclass(frozen=True)
class Undone:
    """A change that was taken back, and who had made it."""

    change: int
    rows: int
    made_by: str


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


def undo(store: Store, number: int | None = None, *, of_others: bool = False) -> Undone:
    """Take a change back, the newest that stands when no number is given.

    Args:
        of_others: Whether another person's change may be taken back.

    Raises:
        DataError: If something later rests on it, or it is another person's; then nothing is
            changed.
    """
    return store.write(lambda session: Undone(*undo_change(session, number, of_others=of_others)))


def person_of(store: Store) -> str:
    """Return the name under which what is done now stands in the history."""
    with store.reading() as session:
        return who_writes(session.connection()).name


def state_of(store: Store) -> StateMark | None:
    """Return what tells the state of a store from any other; None if it was never changed."""
    with store.reading() as session:
        return state_mark(session)
