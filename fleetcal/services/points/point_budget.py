"""The uncertainty budget of one stored point, term by term."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np
from scipy import stats

from fleetcal.errors import UnknownNameError
from fleetcal.services.as_read import as_read
from fleetcal.store import PointFilter, PointRow, Store, select_points


@dataclass(frozen=True, kw_only=True)
class BudgetLine:
    """One term: its share of u(dVpc) in knots, of u(kappa), and of the variance in percent."""

    term: str
    u_dvpc_kt: float
    u_kappa: float
    share_percent: float
    owner: str
    kind: str
    note: str


@dataclass(frozen=True, kw_only=True)
class PointBudget:
    """One point with its budget.

    Attributes:
        point_id, airframe, flown_on, technique, vic_kt, pressure_altitude_ft: Which point it is.
        u_kappa, u_dvpc_kt, u_dhpc_ft: Combined standard uncertainties.
        degrees_of_freedom: Effective; None when without limit.
        coverage_factor: Of the expanded uncertainties (JCGM 100:2008, G.3 and G.4).
        U95_as_read_kt: Of `dvpc_kt` as the correction of what this indicator reads; `U95_dvpc_kt`
            is of the port alone.
        scatter_degrees_of_freedom: Of the terms of kind A, which are what is found from scatter;
            None if none.
        terms: Largest first.
        unexplained_percent: Of the variance, what the kept terms do not add up to.
    """

    point_id: int
    airframe: str
    flown_on: date
    technique: str
    vic_kt: float
    pressure_altitude_ft: float
    kappa: float
    u_kappa: float
    dvpc_kt: float
    u_dvpc_kt: float
    dhpc_ft: float
    u_dhpc_ft: float
    degrees_of_freedom: float | None
    coverage_factor: float
    U95_kappa: float
    U95_dvpc_kt: float
    U95_dhpc_ft: float
    accepted: bool
    reason: str
    barred: str
    U95_as_read_kt: float
    scatter_degrees_of_freedom: float | None
    terms: tuple[BudgetLine, ...]
    unexplained_percent: float


def point_budget(store: Store, number: int) -> PointBudget:
    """Return the budget of one point.

    Args:
        number: Of the point.

    Raises:
        UnknownNameError: If there is no such point.
    """
    with store.reading() as session:
        found = select_points(session, PointFilter(point_id=number))
    if not found:
        raise UnknownNameError(
            f"there is no point {number} in the store", "the list of points shows their numbers"
        )
    return _budget(found[0])


def _budget(row: PointRow) -> PointBudget:
    freedom = row.degrees_of_freedom
    factor = float(stats.norm.ppf(0.975) if freedom is None else stats.t.ppf(0.975, freedom))
    lines = sorted(
        (
            BudgetLine(
                term=t.name,
                u_dvpc_kt=abs(t.u_kappa) * row.u_dvpc_kt / row.u_kappa,
                u_kappa=abs(t.u_kappa),
                share_percent=100.0 * t.u_kappa**2 / row.u_kappa**2,
                owner=t.owner,
                kind=t.kind,
                note=t.note,
            )
            for t in row.terms
        ),
        key=lambda line: (-line.u_kappa, line.term),
    )
    told = as_read(row.terms, freedom)
    explained = float(np.sum([line.share_percent for line in lines]))
    return PointBudget(
        point_id=row.point_id,
        airframe=row.airframe,
        flown_on=row.flown_on,
        technique=row.technique,
        vic_kt=row.vic_kt,
        pressure_altitude_ft=row.pressure_altitude_ft,
        kappa=row.kappa,
        u_kappa=row.u_kappa,
        dvpc_kt=row.dvpc_kt,
        u_dvpc_kt=row.u_dvpc_kt,
        dhpc_ft=row.dhpc_ft,
        u_dhpc_ft=row.u_dhpc_ft,
        degrees_of_freedom=freedom,
        coverage_factor=factor,
        U95_kappa=factor * row.u_kappa,
        U95_dvpc_kt=factor * row.u_dvpc_kt,
        U95_dhpc_ft=factor * row.u_dhpc_ft,
        accepted=row.accepted,
        reason=row.reason,
        barred=row.barred,
        U95_as_read_kt=told.U95_kappa * row.u_dvpc_kt / row.u_kappa,
        scatter_degrees_of_freedom=told.scatter_freedom,
        terms=tuple(lines),
        unexplained_percent=round(100.0 - explained, 6),
    )
