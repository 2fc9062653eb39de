"""Find calibration points with all that a fleet fit needs to know about them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any, ClassVar

from sqlalchemy import Select, func, not_, select
from sqlalchemy.orm import Session

from fleetcal.records import GPS_LEGS, BudgetTerm, Point, names_of
from fleetcal.store.flown_equipment import FLOWN, with_equipment
from fleetcal.store.leak_rows import barred_sorties
from fleetcal.store.models import (
    AircraftEngine,
    AircraftType,
    Airframe,
    CalibrationPoint,
    EquipmentFit,
    Propeller,
    Sortie,
    SourceFile,
    StaticSource,
    UncertaintyTerm,
)
from fleetcal.store.unfit_rows import barred_as_unfit, is_unfit

#: Spare legs that disagree by more lend their scatter to nobody, kt: five times what is
#: supposed of steady air, twice that of a leg read by eye (common practice).
MOST_LENT_KT = 1.5


@dataclass(frozen=True, kw_only=True)
class PointFilter:
    """Which points are wanted; None asks for nothing in particular.

    Attributes:
        airframe: Tag.
        flown_from, flown_to: First and last day, both included.
    """

    airframe: str | None = None
    type: str | None = None
    static_source: str | None = None
    engine: str | None = None
    propeller: str | None = None
    flap_setting: str | None = None
    accepted: bool | None = None
    flown_from: date | None = None
    flown_to: date | None = None
    technique: str | None = None
    point_id: int | None = None


@dataclass(frozen=True, kw_only=True, slots=True)  # a type may have hundreds of thousands
class StoredPoint(Point):
    """A calibration point with its airframe, its equipment and its budget.

    Speeds in knots, altitudes in feet, angles in degrees, kappa without unit, `u_x` standard
    uncertainties; None where the technique does not give a value. `barred` says
    why the point must stay out of every pool whatever was decided of it, and is
    empty where nothing bars it.
    """

    point_id: int
    sortie_id: int
    airframe: str
    type: str
    static_source: str
    engine: str
    propeller: str
    pitot: str
    flown_on: date
    source_name: str
    track_reference: str
    decided_at: datetime
    barred: str = ""

    LISTED: ClassVar = (
        *("point_id", "sortie_id", "airframe", "type", "static_source", "engine", "propeller"),
        *("pitot", "flown_on", "source_name", "track_reference"),
        *(*names_of(Point), "decided_at", "terms", "barred"),
    )


_NAMED = {
    "point_id": CalibrationPoint.id,
    **FLOWN,
    "pitot": EquipmentFit.pitot,
    "track_reference": Sortie.track_reference,
}


_KEPT = (*_NAMED, *names_of(Point), "decided_at")


def select_points(session: Session, filter_: PointFilter | None = None) -> list[StoredPoint]:
    """Return the points that meet a filter.

    Args:
        filter_: All points when left out.

    Returns:
        By day, sortie and number. Three queries, four where a leak check has failed, however many
        points.
    """
    chosen = filter_ or PointFilter()
    terms = _terms(session, chosen)
    barred = barred_sorties(session)
    columns = [column.label(name) for name, column in _NAMED.items()]
    columns += [getattr(CalibrationPoint, name) for name in (*names_of(Point), "decided_at")]
    query = _filtered(
        select(*columns, is_unfit().label("unfit"), AircraftType.reference_weight_kg), chosen
    )
    ordered = query.order_by(Sortie.flown_on, Sortie.id, CalibrationPoint.number)
    return [
        StoredPoint(
            **dict(zip(_KEPT, row, strict=False)),
            terms=tuple(terms.get(row.point_id, ())),
            barred=(barred_as_unfit(row, row.reference_weight_kg) if row.unfit else "")
            or barred.get(row.sortie_id, ""),
        )
        for row in session.execute(ordered)
    ]


@dataclass(frozen=True, kw_only=True)
class KnownKappa:
    """A kappa that counts, with what it was flown at."""

    airframe: str
    vic_kt: float
    weight_kg: float
    kappa: float


def kappas_near(
    session: Session, filter_: PointFilter, vic_kt: tuple[float, float], not_from: str
) -> list[KnownKappa]:
    """Return the kappas that count of the points that meet a filter.

    Args:
        vic_kt: Slowest and fastest, both included.
        not_from: SHA-256 of a file whose points are left out.
    """
    columns = [Airframe.tag.label("airframe")]
    columns += [getattr(CalibrationPoint, name) for name in ("vic_kt", "weight_kg", "kappa")]
    query = _filtered(select(*columns), replace(filter_, accepted=True)).where(
        CalibrationPoint.vic_kt.between(*vic_kt),
        SourceFile.sha256 != not_from,
        CalibrationPoint.sortie_id.not_in(list(barred_sorties(session))),
        not_(is_unfit()),
    )
    return [KnownKappa(**row._mapping) for row in session.execute(query)]


def flap_settings_flown(session: Session, filter_: PointFilter) -> set[str]:
    """Return the flap settings of the points that meet a filter."""
    query = _filtered(select(CalibrationPoint.flap_setting).distinct(), filter_)
    return set(session.scalars(query))


def pooled_leg_scatter(session: Session) -> tuple[float, int]:
    """Return how far spare legs disagree, over accepted points with four legs or more.

    Points of barred sorties are left out, and those whose spare legs disagree by
    more than `MOST_LENT_KT`: they flew in a wind that changed, which widens their own
    uncertainty and says nothing of other days. Three legs leave nothing to judge
    their scatter by, so they borrow this one.

    Returns:
        sum_of_squares: Sum of squared leg residuals, in kt^2.
        degrees_of_freedom: Legs less three, summed over the points.
    """
    freedom = CalibrationPoint.leg_count - 3
    squares = CalibrationPoint.residual_kt * CalibrationPoint.residual_kt * freedom
    query = select(func.sum(squares), func.sum(freedom)).where(
        CalibrationPoint.accepted,
        CalibrationPoint.technique == GPS_LEGS,
        CalibrationPoint.leg_count >= 4,
        CalibrationPoint.residual_kt <= MOST_LENT_KT,
        CalibrationPoint.sortie_id.not_in(list(barred_sorties(session))),
    )
    total, degrees = session.execute(query).one()
    return float(total or 0.0), int(degrees or 0)


def _terms(session: Session, filter_: PointFilter) -> dict[int, list[BudgetTerm]]:
    """Return the budgets of the wanted points, by point."""
    names = names_of(BudgetTerm)
    columns = [getattr(UncertaintyTerm, name) for name in names]
    query = select(UncertaintyTerm.calibration_point_id, *columns).where(
        UncertaintyTerm.calibration_point_id.in_(_filtered(select(CalibrationPoint.id), filter_))
    )
    terms: dict[int, list[BudgetTerm]] = {}
    for point_id, *values in session.execute(query.order_by(UncertaintyTerm.id)):
        terms.setdefault(point_id, []).append(BudgetTerm(**dict(zip(names, values, strict=True))))
    return terms


def _filtered(query: Select[*tuple[Any, ...]], filter_: PointFilter) -> Select[*tuple[Any, ...]]:
    """Join everything a point belongs to and keep what the filter wants."""
    joined = with_equipment(query, CalibrationPoint)
    equal = (
        (CalibrationPoint.id, filter_.point_id),
        (Airframe.tag, filter_.airframe),
        (AircraftType.name, filter_.type),
        (StaticSource.name, filter_.static_source),
        (AircraftEngine.name, filter_.engine),
        (Propeller.name, filter_.propeller),
        (CalibrationPoint.flap_setting, filter_.flap_setting),
        (CalibrationPoint.technique, filter_.technique),
        (CalibrationPoint.accepted, filter_.accepted),
    )
    for column, value in equal:
        if value is not None:
            joined = joined.where(column == value)
    if filter_.flown_from is not None:
        joined = joined.where(Sortie.flown_on >= filter_.flown_from)
    if filter_.flown_to is not None:
        joined = joined.where(Sortie.flown_on <= filter_.flown_to)
    return joined
