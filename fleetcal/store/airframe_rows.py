"""Save airframes and their fits without changing what stored sorties were flown with.

Only what was not described yet may be filled in under stored sorties; they follow.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from functools import partial
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from fleetcal.errors import DataError
from fleetcal.store.description import AirframeDescription, FitDescription
from fleetcal.store.filling_in import books_follow, is_open, ports_of_new_type, sorties_follow
from fleetcal.store.models import Airframe, EquipmentFit, Sortie, StaticSource
from fleetcal.store.names import known_id
from fleetcal.store.undescribed import day_words
from fleetcal.store.upsert import Shelf, Tally, refuse_twice

_EQUIPMENT = {
    "static_source_id": "static source",
    "engine_id": "engine",
    "propeller_id": "propeller",
    "pitot": "pitot",
}


@dataclass(frozen=True)
class _Known:
    """Ids of everything that an airframe may refer to, by name."""

    type_ids: Mapping[str, int]
    source_ids: Mapping[tuple[str, str], int]
    engine_ids: Mapping[str, int]
    propeller_ids: Mapping[str, int]


def save_airframes(
    session: Session,
    airframes: tuple[AirframeDescription, ...],
    tally: Tally,
    *,
    type_ids: Mapping[str, int],
    source_ids: Mapping[tuple[str, str], int],
    engine_ids: Mapping[str, int],
    propeller_ids: Mapping[str, int],
) -> None:
    """Add or change airframes and fits, known by tag and by tag and date.

    Args:
        session: Of a writing transaction.
        tally: Counts what became of each.
        type_ids, source_ids, engine_ids, propeller_ids: Ids by name, of static sources by (type,
            name).

    Raises:
        UnknownNameError: If a name is not among them.
        DataError: If sorties would find themselves flown with other equipment.
    """
    known = _Known(type_ids, source_ids, engine_ids, propeller_ids)
    refuse_twice("airframe", (item.tag for item in airframes))
    shelf = Shelf(session, Airframe, ("tag",), "airframe")
    fits = Shelf(session, EquipmentFit, ("airframe_id", "from_date"), "fit of")
    for item in airframes:
        values: dict[str, Any] = {
            "aircraft_type_id": known_id("type", item.type, known.type_ids),
            "registration": item.registration,
            "note": item.note,
        }
        if item.temperature_shows is not None:  # a description may leave it open
            values["temperature_shows"] = item.temperature_shows
            values["recovery_factor"] = item.recovery_factor
        stored = shelf.rows.get((item.tag,))
        had_open_type = stored is not None and is_open(session, stored, "aircraft_type_id")
        row, outcome = shelf.put(
            (item.tag,), values, shown=item.tag, guard=partial(_guard_airframe, session)
        )
        tally.note(outcome)
        if outcome == "changed" and had_open_type:
            ports_of_new_type(session, row)
        refuse_twice(f"{item.tag}'s fit from", (fit.from_date for fit in item.fits))
        outcomes = [
            _save_fit(session, fits, row, item=item, fit=fit, known=known)
            for fit in sorted(item.fits, key=lambda one: one.from_date)
        ]
        for one in outcomes:
            tally.note(one)
        if "added" in outcomes:
            sorties_follow(session, row)
        if outcome == "changed":
            _refuse_sources_of_other_type(session, row)


def _save_fit(
    session: Session,
    shelf: Shelf[EquipmentFit],
    airframe: Airframe,
    item: AirframeDescription,
    fit: FitDescription,
    known: _Known,
) -> str:
    """Save one fit and return what became of it."""
    sources = {name: value for (kind, name), value in known.source_ids.items() if kind == item.type}
    values = {
        "static_source_id": known_id(f"static source of {item.type}", fit.static_source, sources),
        "engine_id": known_id("engine", fit.engine, known.engine_ids),
        "propeller_id": known_id("propeller", fit.propeller, known.propeller_ids),
        "pitot": fit.pitot,
        "note": fit.note,
    }
    guard = partial(_guard_fit, session, airframe, fit.from_date, values)
    shown = f"{item.tag} from {fit.from_date}"
    key = (airframe.id, fit.from_date)
    stored = shelf.rows.get(key)
    former = stored.static_source_id if stored is not None else None
    row, outcome = shelf.put(key, values, shown=shown, guard=guard)
    port = session.get(StaticSource, row.static_source_id)
    if former is not None and port is not None and former != port.id:
        books_follow(session, former, port)
    return outcome


def _guard_airframe(session: Session, row: Airframe | None, differing: set[str]) -> None:
    """Refuse another type for an airframe that sorties were flown with."""
    if row is None or "aircraft_type_id" not in differing:
        return
    if is_open(session, row, "aircraft_type_id"):
        return
    flown = _count(session, Sortie.airframe_id == row.id)
    if flown:
        raise DataError(
            f"airframe {row.tag} has stored sorties ({flown}), so its type cannot change",
            "describe it under a tag of its own",
        )


def _guard_fit(
    session: Session,
    airframe: Airframe,
    from_date: date,
    values: Mapping[str, Any],
    row: EquipmentFit | None,
    differing: set[str],
) -> None:
    """Refuse a change that would put other equipment under stored sorties."""
    if row is None:
        _refuse_fit_before_sorties(session, airframe, from_date, values)
        return
    changed = [
        words
        for name, words in _EQUIPMENT.items()
        if name in differing and not is_open(session, row, name)
    ]
    flown = _count(session, Sortie.equipment_fit_id == row.id) if changed else 0
    if flown:
        raise DataError(
            f"airframe {airframe.tag}: its fit from {day_words(from_date)} has stored sorties"
            f" ({flown}), so its {' and '.join(changed)} cannot change",
            "a change of equipment is a new fit with its own date: "
            f"'fleetcal fleet airframe {airframe.tag} ... --since YYYY-MM-DD'",
        )


def _refuse_fit_before_sorties(
    session: Session, airframe: Airframe, from_date: date, values: Mapping[str, Any]
) -> None:
    """Refuse a new fit that would have been in force for sorties stored under an older one.

    Unless it differs from that only in what was not described yet.
    """
    older = session.scalar(
        select(EquipmentFit)
        .where(EquipmentFit.airframe_id == airframe.id, EquipmentFit.from_date < from_date)
        .order_by(EquipmentFit.from_date.desc())
        .limit(1)
    )
    if older is not None and _only_fills_in(session, older, values):
        return
    query = (
        select(func.count(), func.max(Sortie.flown_on))
        .join(EquipmentFit, EquipmentFit.id == Sortie.equipment_fit_id)
        .where(
            Sortie.airframe_id == airframe.id,
            Sortie.flown_on >= from_date,
            EquipmentFit.from_date < from_date,
        )
    )
    flown, last = session.execute(query).one()
    if flown:
        raise DataError(
            f"airframe {airframe.tag}: sorties ({flown}, up to {last}) are stored under the fit"
            f" before {from_date}, so a new fit cannot begin then",
            "give the new fit a date after those sorties, or begin a new store",
        )


def _only_fills_in(session: Session, older: EquipmentFit, values: Mapping[str, Any]) -> bool:
    """Tell whether a new fit differs from the older one only in what was not described."""
    left_open = {name for name in _EQUIPMENT if is_open(session, older, name)}
    if left_open == {"pitot"}:
        left_open = set()
    return all(getattr(older, name) == values[name] or name in left_open for name in _EQUIPMENT)


def _refuse_sources_of_other_type(session: Session, airframe: Airframe) -> None:
    """Refuse an airframe of one type with a static source of another."""
    query = (
        select(EquipmentFit.from_date)
        .join(StaticSource, StaticSource.id == EquipmentFit.static_source_id)
        .where(
            EquipmentFit.airframe_id == airframe.id,
            StaticSource.aircraft_type_id != airframe.aircraft_type_id,
        )
    )
    from_date = session.scalar(query.order_by(EquipmentFit.from_date))
    if from_date is not None:
        raise DataError(
            f"airframe {airframe.tag}: its fit from {from_date} has a static source of another"
            " type",
            "describe that fit anew together with the new type",
        )


def _count(session: Session, condition: object) -> int:
    """Return how many sorties meet a condition."""
    query = select(func.count()).select_from(Sortie).where(condition)  # type: ignore[arg-type]
    return int(session.scalar(query) or 0)
