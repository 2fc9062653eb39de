"""Legs and runs of a reduction as rows for the store."""

from __future__ import annotations

from fleetcal.records import BudgetTerm, Leg, Point, part_of
from fleetcal.services.flights.run_lines import LegLine, RunLine


def new_leg(leg: LegLine) -> Leg:
    """Return a leg as a row."""
    # samples that never change tell no scatter
    return part_of(Leg, leg, u_kt=leg.u_kt if (leg.u_kt or 0.0) > 0.0 else None)


def new_point(run: RunLine) -> Point:
    """Return a solved run as a row, at the weight that loads the wing as its turns did.

    Args:
        run: With its weight.
    """
    terms = tuple(part_of(BudgetTerm, term) for term in run.terms)
    return part_of(Point, run, weight_kg=run.weight_kg * run.load_factor, terms=terms)
