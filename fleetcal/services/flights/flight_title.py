"""Which flight it was, and what was found in it, in a line each."""

from __future__ import annotations

import math

from fleetcal.records import ORDINARY_FLIGHT
from fleetcal.services.flights.reduction import Reduction
from fleetcal.wording import counted


def flight_title(result: Reduction) -> str:
    """Return which flight it was: file, airframe, day, flaps and weight."""
    who = f"{result.airframe}, " if result.airframe else ""
    when = result.flown_on or "no date"
    weight = f", {_weights(result)}" if result.weight_kg is not None else ""
    return f"{result.source}: {who}{when}, flaps {result.flap_setting}{weight}"


def _weights(result: Reduction) -> str:
    found = [run.weight_kg for run in result.runs if math.isfinite(run.weight_kg)]
    if found and max(found) - min(found) >= 0.5:
        return f"{max(found):.0f} to {min(found):.0f} kg"
    return f"{result.weight_kg:.0f} kg"


def already_kept(result: Reduction) -> str:
    """Return that a flight was in the store before."""
    points = counted(result.points_known, "point")
    return f"Nothing was added: sortie {result.sortie_id} has this content already, with {points}."


def flight_found(result: Reduction) -> str:
    """Return what of the flight was solved."""
    if result.technique == ORDINARY_FLIGHT:
        speeds = ", ".join(f"{run.vic_kt:.0f}" for run in result.runs)
        return f"an ordinary flight, solved without legs at {speeds} kt"
    if not result.legs:
        return f"{counted(len(result.runs), 'manoeuvre')} solved sample by sample"
    solved = f"{counted(len(result.runs), 'run')} solved"
    if result.source_kind == "leg_sheet":
        return f"{counted(result.legs_found or 0, 'leg')} written by hand, {solved}"
    return f"{counted(result.legs_found or 0, 'steady leg')}, {solved}"
