"""Find calibration points with all that a fleet fit needs to know about them."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from datetime import date, datetime
from typing import Any, ClassVar

from fleetcal.records import GPS_LEGS, BudgetTerm, Point, names_of
from fleetcal.store.flown_equipment import FLOWN, with_equipment
from fleetcal.store.leak_rows import barred_sorties
from fleetcal.store.plain_reads import Reader, ask, day_of, moment_of, numbers_in_sql
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
    sortie_id: int | None = None


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


_COLUMNS = {
    "point_id": "calibration_point.id",
    **FLOWN,
    "pitot": "equipment_fit.pitot",
    "track_reference": "sortie.track_reference",
    **{name: f"calibration_point.{name}" for name in (*names_of(Point), "decided_at")},
}


def select_points(reader: Reader, filter_: PointFilter | None = None) -> list[StoredPoint]:
    """Return the points that meet a filter.

    Args:
        filter_: All points when left out.

    Returns:
        By day, sortie and number. Three queries, four where a leak check has failed, however many
        points.
    """
    chosen = filter_ or PointFilter()
    terms = _terms(reader, chosen)
    barred = barred_sorties(reader)
    joined, values = _filtered(chosen)
    columns = ", ".join(_COLUMNS.values())
    query = f"""SELECT {columns}, {is_unfit()}, aircraft_type.reference_weight_kg {joined}
        ORDER BY sortie.flown_on, sortie.id, calibration_point.number"""
    return [
        _stored(dict(zip(_COLUMNS, row, strict=False)), terms, barred, *row[-2:])
        for row in ask(reader, query, values)
    ]


def _stored(
    values: dict[str, Any],
    terms: dict[int, list[BudgetTerm]],
    barred: dict[int, str],
    unfit: bool,
    reference_kg: float,
) -> StoredPoint:
    values["flown_on"] = day_of(values["flown_on"])
    values["decided_at"] = moment_of(values["decided_at"])
    values["accepted"] = bool(values["accepted"])
    point = StoredPoint(
        **values,
        terms=tuple(terms.get(values["point_id"], ())),
        barred=barred.get(values["sortie_id"], ""),
    )
    why = barred_as_unfit(point, reference_kg) if unfit else ""
    return replace(point, barred=why) if why else point


@dataclass(frozen=True, kw_only=True)
class KnownKappa:
    """A kappa that counts, with what it was flown at."""

    airframe: str
    vic_kt: float
    weight_kg: float
    kappa: float


def kappas_near(
    reader: Reader, filter_: PointFilter, vic_kt: tuple[float, float], not_from: str
) -> list[KnownKappa]:
    """Return the kappas that count of the points that meet a filter.

    Args:
        vic_kt: Slowest and fastest, both included.
        not_from: SHA-256 of a file whose points are left out.
    """
    joined, values = _filtered(replace(filter_, accepted=True))
    names = [field.name for field in fields(KnownKappa)]
    columns = ", ".join(FLOWN.get(name, f"calibration_point.{name}") for name in names)
    query = f"""SELECT {columns} {joined}
        AND calibration_point.vic_kt BETWEEN :slowest AND :fastest
        AND source_file.sha256 != :not_from
        AND calibration_point.sortie_id NOT IN ({numbers_in_sql(barred_sorties(reader))})
        AND NOT {is_unfit()}"""
    slowest, fastest = vic_kt
    more = {"slowest": slowest, "fastest": fastest, "not_from": not_from}
    return [
        KnownKappa(**dict(zip(names, row, strict=True)))
        for row in ask(reader, query, {**values, **more})
    ]


def flap_settings_flown(reader: Reader, filter_: PointFilter) -> set[str]:
    """Return the flap settings of the points that meet a filter."""
    joined, values = _filtered(filter_)
    query = f"SELECT DISTINCT calibration_point.flap_setting {joined}"
    return {flaps for (flaps,) in ask(reader, query, values)}


def pooled_leg_scatter(reader: Reader) -> tuple[float, int]:
    """Return how far spare legs disagree, over accepted points with four legs or more.

    Points of barred sorties are left out, and those whose spare legs disagree by
    more than `MOST_LENT_KT`: they flew in a wind that changed, which widens their own
    uncertainty and says nothing of other days. Three legs leave nothing to judge
    their scatter by, so they borrow this one.

    Returns:
        sum_of_squares: Sum of squared leg residuals, in kt^2.
        degrees_of_freedom: Legs less three, summed over the points.
    """
    query = f"""SELECT sum(residual_kt * residual_kt * (leg_count - 3)), sum(leg_count - 3)
        FROM calibration_point
        WHERE accepted AND technique = :technique AND leg_count >= 4 AND residual_kt <= :most
        AND sortie_id NOT IN ({numbers_in_sql(barred_sorties(reader))})"""
    ((total, degrees),) = ask(reader, query, {"technique": GPS_LEGS, "most": MOST_LENT_KT})
    return float(total or 0.0), int(degrees or 0)


def _terms(reader: Reader, filter_: PointFilter) -> dict[int, list[BudgetTerm]]:
    """Return the budgets of the wanted points, by point."""
    names = names_of(BudgetTerm)
    joined, values = _filtered(filter_)
    query = f"""SELECT calibration_point_id, {", ".join(names)} FROM uncertainty_term
        WHERE calibration_point_id IN (SELECT calibration_point.id {joined}) ORDER BY id"""
    terms: dict[int, list[BudgetTerm]] = {}
    for point_id, *term in ask(reader, query, values):
        terms.setdefault(point_id, []).append(BudgetTerm(**dict(zip(names, term, strict=True))))
    return terms


_EQUAL = {
    "point_id": "calibration_point.id",
    "sortie_id": "sortie.id",
    "airframe": "airframe.tag",
    "type": "aircraft_type.name",
    "static_source": "static_source.name",
    "engine": "engine.name",
    "propeller": "propeller.name",
    "flap_setting": "calibration_point.flap_setting",
    "technique": "calibration_point.technique",
    "accepted": "calibration_point.accepted",
}


def _filtered(filter_: PointFilter) -> tuple[str, dict[str, object]]:
    """Return FROM and WHERE of all that a point belongs to and the filter wants, with values."""
    conditions = {name: f"{column} = :{name}" for name, column in _EQUAL.items()}
    conditions |= {
        "flown_from": "sortie.flown_on >= :flown_from",
        "flown_to": "sortie.flown_on <= :flown_to",
    }
    values = {name: getattr(filter_, name) for name in conditions}
    given = {name: value for name, value in values.items() if value is not None}
    where = " AND ".join(("TRUE", *(conditions[name] for name in given)))
    joined = with_equipment("calibration_point", "calibration_point.sortie_id")
    return f"{joined} WHERE {where}", given
