"""What is done with a flight that the store has already, from another file.

Counted twice it would weigh double, so it is refused with the name of the stored sortie, unless
somebody says that it is another flight, or that it takes the place of the stored one: whose
measurements then stay in the store, rejected with the reason.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Final

from fleetcal.errors import DataError
from fleetcal.store import (
    Alike,
    FlownFlight,
    PointFilter,
    alike,
    flown_near,
    reject_climbs,
    reject_points,
    select_climbs,
    select_points,
)
from fleetcal.wording import counted

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

#: What somebody may say of a flight that looks like a stored one.
NOTHING, ANOTHER, INSTEAD = "", "another flight", "in its place"
REPEATS: Final = (NOTHING, ANOTHER, INSTEAD)


class RepeatedFlightError(DataError):
    """A flight that is stored already, from another file.

    Args:
        sortie_id: Of the stored one.
    """

    def __init__(self, message: str, hint: str, sortie_id: int) -> None:
        super().__init__(message, hint)
        self.sortie_id = sortie_id


@dataclass(frozen=True)
class Repeated:
    """A stored flight that is the one at hand, and what shows it."""

    stored: FlownFlight
    alike: Alike

    @property
    def words(self) -> str:
        """Which it is, and why."""
        stored, found = self.stored, self.alike
        share = f"{found.count} of {counted(found.of, found.what)}"
        return (
            f"this flight is stored already, as sortie {stored.sortie_id} of {stored.airframe} on "
            f"{stored.flown_on} from {stored.file}: {share} alike"
        )


def repeats_among(new: FlownFlight, stored: Iterable[FlownFlight]) -> list[Repeated]:
    """Return which stored flights a flight is."""
    found = ((one, alike(new, one)) for one in stored)
    return [Repeated(one, same) for one, same in found if same is not None]


def settle_repeat(
    session: Session, new: FlownFlight, name: str, not_from: str, choice: str = NOTHING
) -> tuple[str, ...]:
    """Refuse a flight that the store has from another file, unless somebody said what it is.

    Args:
        session: Of a writing transaction, if it may take the place of the stored one.
        new: The flight at hand.
        name: Of its file.
        not_from: SHA-256 of that file, whose own flights are no repeats.
        choice: One of `REPEATS`.

    Returns:
        What was done, in sentences.

    Raises:
        RepeatedFlightError: If nothing was said, or it cannot take the place.
    """
    if choice == ANOTHER:
        return ()
    found = repeats_among(new, flown_near(session, new.airframe, new.flown_on, not_from))
    return settle_repeats(session, found, name, new.airframe, choice)


def settle_repeats(
    session: Session, found: list[Repeated], name: str, airframe: str, choice: str
) -> tuple[str, ...]:
    """Do what somebody said with flights that were found to be stored, as `settle_repeat`."""
    if choice == ANOTHER or not found:
        return ()
    first = found[0]
    stored = first.stored
    if choice != INSTEAD or any(one.stored.airframe != airframe for one in found):
        words = f"{name}: {first.words}"
        raise RepeatedFlightError(words, _advice(stored, airframe), stored.sortie_id)
    return tuple(_out_of_pools(session, one.stored, name) for one in found)


def _advice(stored: FlownFlight, airframe: str) -> str:
    number = stored.sortie_id
    if stored.airframe != airframe:
        return (
            f"if {airframe} flew it, move the flight: fleetcal points move {number} {airframe}; "
            "'--another-flight' keeps it as another one"
        )
    return (
        "leave it out; '--another-flight' keeps it as another one, and '--replace' lets it take "
        f"the place of sortie {number}"
    )


def _out_of_pools(session: Session, stored: FlownFlight, name: str) -> str:
    number, tag, now = stored.sortie_id, stored.airframe, datetime.now(UTC)
    reason = f"the flight was stored again from {name}"
    rows = select_points(session, PointFilter(sortie_id=number, accepted=True))
    points = [row.point_id for row in rows]
    climbs = [
        row.climb_id
        for row in select_climbs(session, airframe=tag)
        if row.sortie_id == number and row.accepted
    ]
    count = reject_points(session, points, reason, now) if points else 0
    count += reject_climbs(session, climbs, reason, now) if climbs else 0
    return f"Sortie {number} from {stored.file} counts no more: {counted(count, 'point')} rejected."
