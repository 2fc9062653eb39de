"""Write climbs and glides of another store into this one, under the sortie they were flown on."""

from __future__ import annotations

from datetime import date
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from fleetcal.store.enter_climbs import is_bare
from fleetcal.store.exchange.collect_climbs import BARE_FIELDS
from fleetcal.store.exchange.entries import Entry
from fleetcal.store.exchange.moments import as_day, as_moment
from fleetcal.store.exchange.parent_rows import Parents
from fleetcal.store.models import CalibrationPoint, ClimbMeasurement, Leg, Sortie
from fleetcal.version import __version__


def write_climbs(session: Session, parents: Parents, own: Entry | None, entry: Entry) -> None:
    """Add the climbs or glides of one log at one power state, or bring them up to date.

    Args:
        own: As it is in the store.
    """
    if own is not None and own.digest == entry.digest:
        _decide(session, own, entry)
        return
    if own is not None:
        _remove(session, own)
    sortie = _sortie_of(session, parents, entry)
    highest = select(func.max(ClimbMeasurement.number)).where(
        ClimbMeasurement.sortie_id == sortie.id
    )
    before = session.scalar(highest) or 0
    _, _, kind, power_state = entry.key
    pairs = zip(entry.content["climbs"], entry.state["decisions"], strict=True)
    session.add_all(
        ClimbMeasurement(
            sortie_id=sortie.id,
            number=before + i,
            kind=kind,
            power_state=power_state,
            **climb,
            **_standing(decision, entry.state["added_at"]),
        )
        for i, (climb, decision) in enumerate(pairs, 1)
    )
    session.flush()
    _remove_empty(session, sortie.airframe_id, sortie.source_file_id)


def delete_climbs(session: Session, entry: Entry) -> None:
    """Delete climbs, and the sortie if it held nothing else; the file itself stays known.

    Args:
        entry: As taken out of this store.
    """
    sortie = _holder(session, entry)
    _remove(session, entry)
    _remove_empty(session, sortie.airframe_id, sortie.source_file_id)


def bare_sortie(session: Session, airframe_id: int, source_id: int, day: date) -> Sortie | None:
    """Return the sortie of a file and day that holds climbs and nothing else, if there is one."""
    query = select(Sortie).where(
        Sortie.airframe_id == airframe_id,
        Sortie.source_file_id == source_id,
        Sortie.flown_on == day,
        is_bare(),
    )
    return session.scalars(query.order_by(Sortie.id).limit(1)).one_or_none()


def _holder(session: Session, entry: Entry) -> Sortie:
    query = select(Sortie).join(ClimbMeasurement, ClimbMeasurement.sortie_id == Sortie.id)
    return session.scalars(query.where(ClimbMeasurement.id == entry.rows[0])).one()


def _decide(session: Session, own: Entry, entry: Entry) -> None:
    """Write when they were added and what was decided; what was measured is the same."""
    for row_id, decision in zip(own.rows, entry.state["decisions"], strict=True):
        row = session.get(ClimbMeasurement, row_id)
        assert row is not None  # it was read in this transaction
        for name, value in _standing(decision, entry.state["added_at"]).items():
            setattr(row, name, value)
    sortie = entry.state["sortie"]
    if sortie is not None:
        for name, value in _bare(sortie).items():
            setattr(_holder(session, own), name, value)


def _remove(session: Session, own: Entry) -> None:
    for row_id in own.rows:  # as objects, so that the history has what they held
        session.delete(session.get(ClimbMeasurement, row_id))
    session.flush()


def _remove_empty(session: Session, airframe_id: int, source_id: int) -> None:
    """Delete sorties that hold nothing any more."""
    query = select(Sortie).where(
        Sortie.airframe_id == airframe_id,
        Sortie.source_file_id == source_id,
        *(
            ~select(model.id).where(model.sortie_id == Sortie.id).correlate(Sortie).exists()
            for model in (ClimbMeasurement, Leg, CalibrationPoint)
        ),
    )
    for row in session.scalars(query):
        session.delete(row)
    session.flush()


def _sortie_of(session: Session, parents: Parents, entry: Entry) -> Sortie:
    """Return the sortie that the climbs were flown on; one of their own if there is none."""
    sha256, tag = entry.key[:2]
    day = as_day(entry.content["flown_on"])
    found = {"airframe_id": parents.airframe(tag), "source_file_id": parents.file(sha256)}
    query = select(Sortie).filter_by(**found, flown_on=day).order_by(Sortie.id).limit(1)
    row = session.scalars(query).one_or_none()
    if row is None:
        sortie = entry.state["sortie"] or _supposed(entry)
        fit = parents.fit(tag, day)
        row = Sortie(
            **found, flown_on=day, equipment_fit_id=fit, settings_json="{}", **_bare(sortie)
        )
        session.add(row)
        session.flush()
    return row


def _supposed(entry: Entry) -> dict[str, Any]:
    """Return what a sortie says whose flights were left out by choice."""
    weights = [climb["weight_kg"] for climb in entry.content["climbs"]]
    return {
        "weight_kg": sum(weights) / len(weights),
        "track_reference": "unknown",
        "program_version": __version__,
        "note": "",
        "added_at": entry.state["added_at"],
    }


def _bare(sortie: dict[str, Any]) -> dict[str, Any]:
    values = {name: sortie[name] for name in BARE_FIELDS}
    return {**values, "added_at": as_moment(sortie["added_at"])}


def _standing(decision: dict[str, Any], added_at: str) -> dict[str, Any]:
    return {
        "accepted": decision["accepted"],
        "reason": decision["reason"],
        "decided_at": as_moment(decision["decided_at"] or added_at),
        "added_at": as_moment(added_at),
    }
