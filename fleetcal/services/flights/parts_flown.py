"""The parts of a flight that are solved without legs: manoeuvres, or all of it by airspeed."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from fleetcal.airdata.ground_vectors import largest_track_gap
from fleetcal.airdata.run_quality import WIDEST_GAP_RAD
from fleetcal.errors import NoRunError
from fleetcal.records import kappa_can_be
from fleetcal.services.flights.flown_leg import FlownLeg
from fleetcal.services.flights.read_flight import Flight
from fleetcal.services.flights.reduction import FlightDetails, RefusedRun
from fleetcal.services.flights.run_lines import RunLine

#: At an airspeed whose correction an ordinary flight leaves more open than this, it tells nothing.
MOST_OPEN_KT: Final = 5.0


def parts_of(flight: Flight, details: FlightDetails) -> dict[int, tuple[FlownLeg, ...]]:
    """Return the parts that share a kappa, by number."""
    if details.solve_by == "manoeuvres":
        return {number: (flown,) for number, flown in enumerate(flight.manoeuvres, 1)}
    return dict(enumerate(flight.airspeeds, 1))


def require_courses(flight: Flight) -> None:
    """Refuse an ordinary flight that went one way only.

    Raises:
        NoRunError: If there is no stretch, or tracks lie within a narrow fan.
    """
    flown = [leg for stretches in flight.airspeeds for leg in stretches]
    if not flown:
        raise NoRunError(
            f"{flight.source_name}: no part of the flight was flown at one airspeed for long",
            "'fleetcal reduce --settings' can loosen what counts, table airspeeds",
        )
    tracks = np.concatenate([np.arctan2(leg.east_mps, leg.north_mps) for leg in flown])
    gap = largest_track_gap(np.unique(np.round(tracks, 2)))
    if gap > WIDEST_GAP_RAD:
        raise NoRunError(
            f"{flight.source_name}: the course hardly changed ({np.degrees(gap):.0f} degrees "
            "without a track), so wind and airspeed cannot be told apart",
            "fly on other courses too: a circuit or a full circle at each airspeed is enough",
        )


def flaps_note(flap_setting: str) -> str:
    """Say what is supposed of the flaps all flight."""
    return (
        f"Flaps are taken as {flap_setting} all flight: if they were not on the approach, leave "
        "that out with slowest_kt in the table airspeeds of '--settings'."
    )


def too_open(lines: Sequence[RunLine]) -> tuple[list[RunLine], list[RefusedRun]]:
    """Part what an ordinary flight tells from what it leaves open."""
    settled, open_ = [], []
    for line in lines:
        reason, left = "", _left_open_kt(line)
        if not left <= MOST_OPEN_KT:
            reason = (
                f"at {line.vic_kt:.0f} kt wind and gusts leave the correction open by {left:.0f} "
                "kt; fly there for longer and on more courses"
            )
        elif not kappa_can_be(line.kappa):
            reason = (
                f"at {line.vic_kt:.0f} kt the airspeed would be wrong by more than any static "
                "port can: wrong unit or wrong column"
            )
        if reason:
            open_.append(RefusedRun(line.run, None, reason))
        else:
            settled.append(line)
    return settled, open_


def _left_open_kt(line: RunLine) -> float:
    """Return what wind and gusts leave of a correction at 95 %, kt."""
    square = sum(term.u_kappa**2 for term in line.terms if term.kind == "A")
    return float(line.U95_dvpc_kt * np.sqrt(square) / line.u_kappa)
