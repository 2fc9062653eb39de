"""What is measured and kept, column by column: the one place where a column is defined."""

from __future__ import annotations

from fleetcal.records.budget_term import OWNERS, BudgetTerm
from fleetcal.records.climb import Climb
from fleetcal.records.column import (
    RecordColumn,
    columns_of,
    content_of,
    names_of,
    part_of,
    values_of,
)
from fleetcal.records.leg import Leg
from fleetcal.records.plausible import (
    COARSEST_U_KAPPA,
    FASTEST_KT,
    FINEST_U_KAPPA,
    MOST_TIMES,
    SLOWEST_KT,
    unusual,
    why_unfit,
)
from fleetcal.records.point import (
    GPS_LEGS,
    GPS_MANOEUVRE,
    LARGEST_KAPPA,
    LEAST_KAPPA,
    ORDINARY_FLIGHT,
    TECHNIQUES,
    Point,
    kappa_can_be,
)
from fleetcal.records.power import ACTUAL, STANDARD_AIR, Power

__all__ = [
    "ACTUAL",
    "COARSEST_U_KAPPA",
    "FASTEST_KT",
    "FINEST_U_KAPPA",
    "GPS_LEGS",
    "GPS_MANOEUVRE",
    "LARGEST_KAPPA",
    "LEAST_KAPPA",
    "MOST_TIMES",
    "ORDINARY_FLIGHT",
    "OWNERS",
    "SLOWEST_KT",
    "STANDARD_AIR",
    "TECHNIQUES",
    "BudgetTerm",
    "Climb",
    "Leg",
    "Point",
    "Power",
    "RecordColumn",
    "columns_of",
    "content_of",
    "kappa_can_be",
    "names_of",
    "part_of",
    "unusual",
    "values_of",
    "why_unfit",
]
