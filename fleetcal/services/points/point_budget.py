"""The uncertainty budget of one stored point, term by term."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import ClassVar

import numpy as np
from scipy import special

from fleetcal.errors import UnknownNameError
from fleetcal.records import BudgetTerm
from fleetcal.services.as_read import as_read
from fleetcal.store import PointFilter, Store, StoredPoint, select_points


@dataclass(frozen=True, kw_only=True)
class BudgetLine(BudgetTerm):
    """One term: its share of u(dVpc) in knots, of u(kappa), and of the variance in percent."""

    u_dvpc_kt: float
    share_percent: float

    LISTED: ClassVar = ("term", "u_dvpc_kt", "u_kappa", "share_percent", "owner", "kind", "note")

    @property
    def term(self) -> str:
        """What errs."""
        return self.name


@dataclass(frozen=True, kw_only=True)
class PointBudget(StoredPoint):
    """One point with its budget.

    Attributes:
        coverage_factor: Of the expanded uncertainties (JCGM 100:2008, G.3 and G.4).
        U95_as_read_kt: Of `dvpc_kt` as the correction of what this indicator reads; `U95_dvpc_kt`
            is of the port alone.
        scatter_degrees_of_freedom: Of the terms of kind A, which are what is found from scatter;
            None if none.
        terms: Largest first.
        unexplained_percent: Of the variance, what the kept terms do not add up to.
    """

    terms: tuple[BudgetLine, ...]
    coverage_factor: float
    U95_kappa: float
    U95_dvpc_kt: float
    U95_dhpc_ft: float
    U95_as_read_kt: float
    scatter_degrees_of_freedom: float | None
    unexplained_percent: float

    LISTED: ClassVar = (
        *("point_id", "airframe", "flown_on", "technique", "vic_kt", "pressure_altitude_ft"),
        *("kappa", "u_kappa", "dvpc_kt", "u_dvpc_kt", "dhpc_ft", "u_dhpc_ft"),
        *("degrees_of_freedom", "coverage_factor", "U95_kappa", "U95_dvpc_kt", "U95_dhpc_ft"),
        *("accepted", "reason", "barred", "U95_as_read_kt", "scatter_degrees_of_freedom"),
        *("terms", "unexplained_percent"),
    )


def point_budget(store: Store, number: int) -> PointBudget:
    """Return the budget of one point.

    Args:
        number: Of the point.

    Raises:
        UnknownNameError: If there is no such point.
    """
    with store.lookup() as reader:
        found = select_points(reader, PointFilter(point_id=number))
    if not found:
        raise UnknownNameError(
            f"there is no point {number} in the store", "the list of points shows their numbers"
        )
    return _budget(found[0])


def _square(share: float) -> float:
    """Return a square; that of a term far beyond its point is without limit."""
    return share * share if abs(share) < 1e150 else float("inf")


def _budget(row: StoredPoint) -> PointBudget:
    freedom = row.degrees_of_freedom
    factor = float(special.ndtri(0.975) if freedom is None else special.stdtrit(freedom, 0.975))
    lines = sorted(
        (
            BudgetLine(
                name=t.name,
                u_dvpc_kt=abs(t.u_kappa) * row.u_dvpc_kt / row.u_kappa,
                u_kappa=abs(t.u_kappa),
                share_percent=100.0 * _square(t.u_kappa / row.u_kappa),
                owner=t.owner,
                kind=t.kind,
                note=t.note,
            )
            for t in row.terms
        ),
        key=lambda line: (-line.u_kappa, line.name),
    )
    read_only = as_read(row.terms, freedom)
    explained = float(np.sum([line.share_percent for line in lines]))
    found = {field.name: getattr(row, field.name) for field in fields(row)}
    return PointBudget(
        **found | {"terms": tuple(lines)},
        coverage_factor=factor,
        U95_kappa=factor * row.u_kappa,
        U95_dvpc_kt=factor * row.u_dvpc_kt,
        U95_dhpc_ft=factor * row.u_dhpc_ft,
        U95_as_read_kt=read_only.U95_kappa * row.u_dvpc_kt / row.u_kappa,
        scatter_degrees_of_freedom=read_only.scatter_freedom,
        unexplained_percent=round(100.0 - explained, 6),
    )
