"""Let a stored flight count as flown by another airframe.

Flights are known by file and tag, so moving gives the rows of one entry to another. The
former one is kept as replaced, and a store that still has it does not bring it back.
Readings keep the bench corrections that they were made with.
"""

from __future__ import annotations

from sqlalchemy.orm import Session

from fleetcal.errors import DataError, UnknownNameError
from fleetcal.store.airframe_lookup import find_airframe, fit_in_force
from fleetcal.store.exchange.collect_flown import collect_flown
from fleetcal.store.exchange.entries import FLOWN
from fleetcal.store.exchange.keep_replaced import remember_replaced
from fleetcal.store.listed import SortieLine
from fleetcal.store.models import Sortie, SourceFile
from fleetcal.store.source_rows import sorties_of_source

#: Files that are of one flight or one airframe.
_OF_ONE = ("log", "leg_sheet", "measurement")


def move_flight(session: Session, sortie_id: int, to: str) -> tuple[str, list[SortieLine]]:
    """Give what one file gave for one airframe to another airframe.

    Legs, points, budgets, decisions, powers, climbs and the kept log stay as they are; the
    equipment is that of the other airframe on that day. Other stores that still have the
    flight under the former airframe do not bring it back by a merge.

    Args:
        session: Of a writing transaction.
        to: Tag of the airframe that flew it.

    Returns:
        moved: The sorties that moved, as they were before.

    Raises:
        UnknownNameError: If there is no such sortie or airframe.
        DataError: If that airframe has the flight already, or had no equipment fitted on that day,
            or the file is of many airframes.
    """
    sortie = session.get(Sortie, sortie_id)
    if sortie is None:
        raise UnknownNameError(
            f"there is no sortie {sortie_id} in the store",
            "'reduce' of its log names it, and so does 'fleetcal points list --format csv'",
        )
    source = session.get(SourceFile, sortie.source_file_id)
    assert source is not None  # a sortie refers to it
    target = find_airframe(session, to)
    flown = sorties_of_source(session, source)
    tag = next(one.airframe for one in flown if one.sortie_id == sortie_id)
    _refuse(flown, source, tag, to)
    moved = [one for one in flown if one.airframe == tag]
    fits = {one.sortie_id: fit_in_force(target, one.flown_on).id for one in moved}
    _remember(session, source, tag, f"moved to {to}")
    for number, fit in fits.items():
        row = session.get(Sortie, number)
        assert row is not None  # it was just listed
        row.airframe_id, row.equipment_fit_id = target.id, fit
    session.flush()
    return source.name, moved


def _refuse(flown: list[SortieLine], source: SourceFile, tag: str, to: str) -> None:
    if source.kind not in _OF_ONE:
        raise DataError(
            f"{source.name} holds points of earlier work, which are not moved",
            "mend the file; 'fleetcal undo' takes the import back",
        )
    if tag == to:
        raise DataError(f"{source.name} is stored for {to} already", "there is nothing to do")
    own = [one for one in flown if one.airframe == to]
    if own:
        raise DataError(
            f"{source.name} is stored for {to} too, as sortie {own[0].sortie_id}",
            f"reject the points that {tag} did not fly with 'fleetcal points reject'",
        )


def _remember(session: Session, source: SourceFile, tag: str, why: str) -> None:
    """Keep what the former airframe had, so that a merge does not bring it back."""
    flown = collect_flown(session, (), {source.sha256})
    mine = [entry for entry in flown if entry.kind in FLOWN and entry.key[1] == tag]
    remember_replaced(session, mine, why)
