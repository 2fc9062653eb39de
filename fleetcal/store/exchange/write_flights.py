"""Write flights and checks of another store into this one."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

from sqlalchemy import select
from sqlalchemy.orm import Session

from fleetcal.store.exchange.entries import Entry
from fleetcal.store.exchange.moments import as_day, as_moment
from fleetcal.store.exchange.parent_rows import Parents
from fleetcal.store.exchange.write_climbs import bare_sortie
from fleetcal.store.models import (
    BenchCheck,
    BenchRow,
    CalibrationPoint,
    CruisePower,
    LeakCheck,
    Leg,
    Sortie,
    UncertaintyTerm,
)

_SORTIE_FIELDS: Final = ("weight_kg", "track_reference", "settings_json", "note")


def write_flights(session: Session, parents: Parents, own: Entry | None, entry: Entry) -> None:
    """Add what one file gave for one airframe, or bring it up to date.

    Args:
        own: As it is in the store.
    """
    if own is not None and own.digest == entry.digest:
        _decide(session, own, entry)
        return
    sha256, tag = entry.key
    begun = list(own.rows) if own is not None else []
    pairs = zip(entry.content["sorties"], entry.state["sorties"], strict=True)
    for content, state in pairs:
        day = as_day(content["flown_on"])
        airframe, source = parents.airframe(tag), parents.file(sha256)
        values = {
            "equipment_fit_id": parents.fit(tag, day),
            "flown_on": day,
            "program_version": state["program_version"],
            "added_at": as_moment(state["added_at"]),
            **{name: content[name] for name in _SORTIE_FIELDS},
        }
        # In its place, so that climbs go on to stand under it.
        if begun:
            row = session.get(Sortie, begun.pop(0))
        else:
            row = bare_sortie(session, airframe, source, day)
        if row is None:
            row = Sortie(airframe_id=airframe, source_file_id=source, **values)
            session.add(row)
        else:
            _empty(session, [row.id])
            for name, value in values.items():
                setattr(row, name, value)
        session.flush()
        session.add_all(Leg(sortie_id=row.id, **leg) for leg in content["legs"])
        _add_points(session, row.id, content["points"], state)
    _remove(session, begun)


def _add_points(
    session: Session, sortie_id: int, points: list[dict[str, Any]], state: dict[str, Any]
) -> None:
    rows = []
    for point, decision in zip(points, state["decisions"], strict=True):
        values = {name: value for name, value in point.items() if name != "terms"}
        rows.append(
            CalibrationPoint(
                sortie_id=sortie_id, **values, **_decision(decision, state["added_at"])
            )
        )
    session.add_all(rows)
    session.flush()
    session.add_all(
        UncertaintyTerm(calibration_point_id=row.id, **term)
        for row, point in zip(rows, points, strict=True)
        for term in point["terms"]
    )
    session.add_all(
        CruisePower(calibration_point_id=row.id, **_noted(power))
        for row, power in zip(rows, state["powers"], strict=True)
        if power is not None
    )
    session.flush()


def _noted(power: dict[str, Any]) -> dict[str, Any]:
    return {**power, "noted_at": as_moment(power["noted_at"])}


def _decision(decision: dict[str, Any], added_at: str) -> dict[str, Any]:
    moment = as_moment(decision["decided_at"] or added_at)
    return {
        "accepted": decision["accepted"],
        "reason": decision["reason"],
        "decided_at": moment,
    }


def _decide(session: Session, own: Entry, entry: Entry) -> None:
    """Write when it was added and what was decided; what was measured is the same."""
    for row_id, state in zip(own.rows, entry.state["sorties"], strict=True):
        row = session.get(Sortie, row_id)
        assert row is not None  # it was read in this transaction
        row.added_at = as_moment(state["added_at"])
        row.program_version = state["program_version"]
        query = select(CalibrationPoint).where(CalibrationPoint.sortie_id == row_id)
        points = session.scalars(query.order_by(CalibrationPoint.number)).all()
        for point, decision in zip(points, state["decisions"], strict=True):
            for name, value in _decision(decision, state["added_at"]).items():
                setattr(point, name, value)
        _note(session, [point.id for point in points], state["powers"])


def _note(session: Session, points: Sequence[int], powers: Sequence[dict[str, Any] | None]) -> None:
    """Note powers that differ from what is noted; none is ever taken away by a merge."""
    query = select(CruisePower).where(CruisePower.calibration_point_id.in_(points))
    known = {row.calibration_point_id: row for row in session.scalars(query)}
    for point, power in zip(points, powers, strict=True):
        if power is None:
            continue
        if point not in known:
            session.add(CruisePower(calibration_point_id=point, **_noted(power)))
            continue
        for name, value in _noted(power).items():
            setattr(known[point], name, value)


def delete_flights(session: Session, entry: Entry) -> None:
    """Delete the sorties of one file and airframe; the file itself stays known.

    Args:
        entry: As taken out of this store.
    """
    _remove(session, entry.rows)


def _remove(session: Session, sorties: Sequence[int]) -> None:
    _empty(session, sorties)
    for row_id in sorties:
        session.delete(session.get(Sortie, row_id))
    session.flush()


def _empty(session: Session, sorties: Sequence[int]) -> None:
    """Delete legs, points, budgets and powers of sorties."""
    points = select(CalibrationPoint.id).where(CalibrationPoint.sortie_id.in_(sorties))
    for query in (
        select(UncertaintyTerm).where(UncertaintyTerm.calibration_point_id.in_(points)),
        select(CruisePower).where(CruisePower.calibration_point_id.in_(points)),
        select(CalibrationPoint).where(CalibrationPoint.sortie_id.in_(sorties)),
        select(Leg).where(Leg.sortie_id.in_(sorties)),
    ):
        for row in session.scalars(query):  # as objects, so that the history has what they held
            session.delete(row)
        session.flush()


def write_bench_check(session: Session, parents: Parents, own: Entry | None, entry: Entry) -> None:
    """Add a bench check, or bring its standing up to date; parameters as in `write_flights`."""
    tag, kind, day, sha256 = entry.key[:4]
    row = session.get(BenchCheck, own.rows[0]) if own is not None else None
    if row is None:
        row = BenchCheck(
            airframe_id=parents.airframe(tag),
            source_file_id=parents.file(sha256),
            kind=kind,
            checked_on=as_day(day),
            u=entry.content["u"],
            note=entry.content["note"],
            added_at=as_moment(entry.state["added_at"]),
        )
        session.add(row)
        session.flush()
        session.add_all(
            BenchRow(bench_check_id=row.id, indicated=indicated, correction=correction)
            for indicated, correction in entry.content["rows"]
        )
    row.added_at = as_moment(entry.state["added_at"])
    row.withdrawn = entry.state["withdrawn"]


def write_leak_check(session: Session, parents: Parents, own: Entry | None, entry: Entry) -> None:
    """Add a leak check, or bring its standing up to date; parameters as in `write_flights`."""
    row = session.get(LeakCheck, own.rows[0]) if own is not None else None
    if row is None:
        content = entry.content
        row = LeakCheck(
            airframe_id=parents.airframe(entry.key[0]),
            checked_on=as_day(entry.key[1]),
            passed=content["loss_ft"] <= content["limit_ft"],
            added_at=as_moment(entry.state["added_at"]),
            **content,
        )
        session.add(row)
    row.added_at = as_moment(entry.state["added_at"])
    row.withdrawn = entry.state["withdrawn"]
