"""Legs and runs of a reduction as rows for the store."""

from __future__ import annotations

import numpy as np

from fleetcal.services.flights.run_lines import LegLine, RunLine
from fleetcal.store import NewLeg, NewPoint, NewTerm

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


def new_leg(leg: LegLine) -> NewLeg:
    """Return a leg as a row."""
    return NewLeg(
        run_number=leg.run,
        leg_number=leg.leg,
        vic_kt=leg.vic_kt,
        pressure_altitude_ft=leg.pressure_altitude_ft,
        oat_degc=leg.oat_degc,
        start_s=leg.start_s,
        stop_s=leg.stop_s,
        samples=leg.samples,
        ground_east_kt=leg.ground_east_kt,
        ground_north_kt=leg.ground_north_kt,
        track_deg=leg.track_deg,
        residual_kt=leg.residual_kt,
        u_kt=leg.u_kt if leg.u_kt > 0.0 else None,  # samples that never change tell no scatter
        recovery_factor=leg.recovery_factor,
        humidity_pct=leg.humidity_pct,
    )


def new_point(run: RunLine, technique: str, flap_setting: str) -> NewPoint:
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
    return NewPoint(
        number=run.run,
        technique=technique,
        weight_kg=run.weight_kg * run.load_factor,  # turning loads the wing like more weight
        flap_setting=flap_setting,
        terms=tuple(
            NewTerm(name=t.name, u_kappa=t.u_kappa, owner=t.owner, kind=t.kind, note=t.note)
            for t in run.terms
        ),
        **values,
    )
