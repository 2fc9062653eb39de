"""Describe one airframe, before its first flight or long after it, as far as it is known."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from difflib import get_close_matches
from typing import TYPE_CHECKING

from fleetcal.errors import StoreError
from fleetcal.services.chosen_store import StorePlace, store_at
from fleetcal.services.fleet.airframe_answers import AirframeAnswers, description_of
from fleetcal.services.fleet.new_airframe import refuse_bad_tag, refuse_same_tag, spelt_out
from fleetcal.services.fleet.not_described import (
    is_undescribed,
    weight_is_supposed,
)
from fleetcal.store import FleetDescription, SaveCounts, load_description, revise_description

if TYPE_CHECKING:
    from sqlalchemy.orm import Session


@dataclass(frozen=True, kw_only=True)
class AirframeShown:
    """One airframe as it is described now.

    Attributes:
        type, static_source, engine, propeller: Empty where nobody described them.
        since: First day of the newest fit.
        reference_weight_kg, stall_kt: Of the type; None where nobody stated them.
        scaling_speed_kt: That lift is counted in.
        others: Tags of the other airframes of the type.
    """

    airframe: str
    type: str
    static_source: str
    engine: str
    propeller: str
    pitot: str
    since: date | None
    reference_weight_kg: float | None
    stall_kt: float | None
    scaling_speed_kt: float
    others: tuple[str, ...]
    registration: str = ""
    note: str = ""

    @property
    def left_open(self) -> tuple[str, ...]:
        """What nobody has described yet, in words."""
        values = {
            "type": self.type,
            "static source": self.static_source,
            "engine": self.engine,
            "propeller": self.propeller,
            "reference weight": self.reference_weight_kg,
            "stall speed": self.stall_kt,
        }
        return tuple(name for name, value in values.items() if not value)


@dataclass(frozen=True, kw_only=True)
class AirframeDescribed:
    """What describing an airframe did.

    Attributes:
        known_before: Whether it was in the store.
        changed: Whether anything is otherwise now.
        like_named: Pairs of a name that is new and one that was known and is nearly the same.
        store: How the store is called.
    """

    now: AirframeShown
    known_before: bool
    changed: bool
    like_named: tuple[tuple[str, str], ...]
    store: str


def show_airframe(where: StorePlace, tag: str) -> AirframeShown | None:
    """Return what is described of an airframe; None if it, or the store, is not there.

    Raises:
        StoreError: If the store is there and cannot be read.
        UnknownNameError: If the tag is one that is known, written otherwise.
    """
    try:
        with store_at(where, create=False) as store, store.lookup() as session:
            fleet = load_description(session)
    except StoreError as error:
        if type(error) is not StoreError:  # it is there, but is not to be used
            raise
        return None
    _refuse_tag(fleet, tag)
    return _shown(fleet, tag) if any(one.tag == tag for one in fleet.airframes) else None


def describe_airframe(where: StorePlace, answers: AirframeAnswers) -> AirframeDescribed:
    """Put what was answered of an airframe into the store; begin the store if there is none.

    What was not described yet is filled in where it stands; flights follow. Equipment that was
    described changes on a day.

    Args:
        where: Place of the store, or the store itself.

    Raises:
        DataError: If the answers contradict what stored flights were flown with, or the type that
            other airframes have too.
    """
    refuse_bad_tag(answers.tag)
    before = show_airframe(where, answers.tag)
    if before is None:
        description_of(FleetDescription(), answers)  # before a store is begun for nothing
    with store_at(where) as store:

        def work(session: Session) -> tuple[FleetDescription, SaveCounts, AirframeShown]:
            known = load_description(session)
            _refuse_tag(known, answers.tag)
            description = description_of(known, answers)
            counts = revise_description(session, description)
            return known, counts, _shown(load_description(session), answers.tag)

        known, counts, now = store.write(work)
        return AirframeDescribed(
            now=now,
            known_before=before is not None,
            changed=bool(counts.added or counts.changed),
            like_named=_like_named(known, answers),
            store=store.label,
        )


def _refuse_tag(fleet: FleetDescription, tag: str) -> None:
    tags = [one.tag for one in fleet.airframes]
    if tag not in tags:
        same = (one for one in tags if spelt_out(one) == spelt_out(tag))
        refuse_same_tag(tag, next(same, ""))


def _shown(fleet: FleetDescription, tag: str) -> AirframeShown:
    own = next(one for one in fleet.airframes if one.tag == tag)
    kind = next(one for one in fleet.types if one.name == own.type)
    fit = max(own.fits, key=lambda one: one.from_date, default=None)
    parts = ("", "", "") if fit is None else (fit.static_source, fit.engine, fit.propeller)
    port, engine, propeller = ("" if is_undescribed(one) else one for one in parts)
    return AirframeShown(
        airframe=tag,
        type="" if is_undescribed(kind.name) else kind.name,
        static_source=port,
        engine=engine,
        propeller=propeller,
        pitot=fit.pitot if fit is not None else "",
        since=fit.from_date if fit is not None else None,
        reference_weight_kg=None if weight_is_supposed(kind.note) else kind.reference_weight_kg,
        stall_kt=kind.stall_speed_clean_kt,
        scaling_speed_kt=kind.scaling_speed_kt,
        others=tuple(one.tag for one in fleet.airframes if one.type == kind.name and one != own),
        registration=own.registration or "",
        note=own.note,
    )


def _like_named(known: FleetDescription, answers: AirframeAnswers) -> tuple[tuple[str, str], ...]:
    """Return names that are new and nearly those of something that was known."""
    ports = {one.name for kind in known.types for one in kind.static_sources}
    pairs = (
        (answers.type, {one.name for one in known.types}),
        (answers.static_source, ports),
        (answers.engine, set(known.engines)),
        (answers.propeller, {one.name for one in known.propellers}),
    )
    found = []
    for name, names in pairs:
        described = {one.casefold(): one for one in sorted(names) if not is_undescribed(one)}
        close = get_close_matches(name.casefold(), described, n=1, cutoff=0.8)
        if name and name not in names and close:
            found.append((name, described[close[0]]))
    return tuple(found)
