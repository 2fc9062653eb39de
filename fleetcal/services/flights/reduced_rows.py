"""Legs and runs of a reduction as rows for the store."""

from __future__ import annotations

import numpy as np

from fleetcal.records import BudgetTerm, Leg, Point, part_of
from fleetcal.services.flights.run_lines import LegLine, RunLine

_SAME = (
    "vic_kt",
    "pressure_altitude_ft",
    "oat_degc",
    "tas_kt",
    "kappa",
    "u_kappa",
    "dvpc_kt",
    "u_dvpc_kt",
    "dhpc_ft",
    "u_dhpc_ft",
    "wind_speed_kt",
    "wind_from_deg",
    "leg_count",
    "largest_gap_deg",
    "residual_kt",
    "duration_s",
    "degrees_of_freedom",
    "accepted",
    "reason",
)


def new_leg(leg: LegLine) -> Leg:
    """Return a leg as a row."""
    # samples that never change tell no scatter
    return part_of(Leg, leg, u_kt=leg.u_kt if (leg.u_kt or 0.0) > 0.0 else None)


def new_point(run: RunLine, technique: str, flap_setting: str) -> Point:
    """Return a solved run as a row.

    Args:
        run: With its weight.

    Returns:
        With the number of the run, which its legs carry too, and at the weight that loads the wing
        like the manoeuvre did.
    """
    assert run.weight_kg is not None  # only a preview may lack it
    values = {name: getattr(run, name) for name in _SAME}
    if not np.isfinite(run.degrees_of_freedom):
        values["degrees_of_freedom"] = None  # without limit
    return Point(
        number=run.run,
        technique=technique,
        weight_kg=run.weight_kg * run.load_factor,  # turning loads the wing like more weight
        flap_setting=flap_setting,
        terms=tuple(part_of(BudgetTerm, t) for t in run.terms),
        **values,
    )
