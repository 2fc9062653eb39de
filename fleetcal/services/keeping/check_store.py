"""Check that a store holds together and that its points follow from what they rest on."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from fleetcal.errors import StoreError
from fleetcal.records import Leg
from fleetcal.services.keeping.points_follow import broken_points
from fleetcal.store import (
    CruiseRow,
    Store,
    StoredPoint,
    broken_logs,
    select_cruise,
    select_legs,
    select_points,
)
from fleetcal.store.history_chain import newest_link
from fleetcal.store.integrity import broken_parts, sortie_settings
from fleetcal.wording import counted


@dataclass(frozen=True)
class Fault:
    """One fault of a store."""

    where: str
    what: str


@dataclass(frozen=True, kw_only=True)
class StoreChecked:
    """What a check found.

    Attributes:
        points, sorties_with_legs: How many were looked at.
        links, newest_hash: Links of the history's chain, and the hash of the newest; noted
            elsewhere, it tells whether the chain was ever worked out anew.
    """

    store: str
    points: int
    sorties_with_legs: int
    faults: tuple[Fault, ...]
    links: int
    newest_hash: str


def check_store(store: Store) -> StoreChecked:
    """Check tables, references, hashes, history, fits and points of a store."""
    points: Sequence[StoredPoint] = ()
    legs: Mapping[int, Sequence[Leg]] = {}
    with store.reading() as session:
        faults = [*_looked("store", broken_parts(session))]
        faults += _looked("kept logs", broken_logs(session))
        links, newest_hash = newest_link(session.connection()) or (0, "")
        try:
            points, legs = select_points(session), select_legs(session)
            settings = sortie_settings(session)
            powers = select_cruise(session)
        except ValueError as error:
            faults.append(_unreadable("points", error))
        else:
            faults += _looked("points", broken_points(points, legs, settings))
            faults += map(_doubtful, (run for run in powers if run.power.doubt))
    return StoreChecked(
        store=store.label,
        points=len(points),
        sorties_with_legs=len(legs),
        faults=tuple(faults),
        links=links,
        newest_hash=newest_hash,
    )


def _looked(what: str, found: Iterator[tuple[str, str]]) -> Iterator[Fault]:
    """Yield faults, and as the last one a value that is no value at all."""
    try:
        for one in found:
            yield Fault(*one)
    except ValueError as error:
        yield _unreadable(what, error)


def _unreadable(what: str, error: ValueError) -> Fault:
    return Fault(what, f"a value is damaged and cannot be read: {error}")


def _doubtful(run: CruiseRow) -> Fault:
    return Fault(
        f"point {run.point.point_id} of {run.point.airframe}",
        f"its power is doubtful: {run.power.doubt}; note it again with 'fleetcal power "
        f"--log {run.point.source_name}', or take it out with 'fleetcal power POINT --none'",
    )


def refuse_faults(checked: StoreChecked) -> None:
    """Raise if there are faults.

    Raises:
        StoreError: If so.
    """
    if checked.faults:
        raise StoreError(
            f"{checked.store}: {counted(len(checked.faults), 'fault')} found",
            "follow the advice in the list; otherwise go back to a backup with 'fleetcal store "
            "restore', or share what is sound",
        )
