"""Reduce the climbs or glides of one recorded flight and keep them."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from fleetcal.errors import DataError, NoRunError
from fleetcal.flightlog.climbs import ClimbSpan, find_climbs, pair_climbs
from fleetcal.records import Climb
from fleetcal.services.bench.bench_corrections import bench_in_force
from fleetcal.services.flights.air_words import air_in_short
from fleetcal.services.flights.checked_flight import apply_bench
from fleetcal.services.flights.cut_legs import Recorded
from fleetcal.services.flights.flight_day import day_of_flight, day_warnings
from fleetcal.services.flights.flight_weight import flight_weight
from fleetcal.services.flights.read_flight import Flight, read_flight
from fleetcal.services.flights.reduction import FlightDetails
from fleetcal.services.flights.settings_file import ReductionSettings
from fleetcal.services.known_elsewhere import refuse_known_elsewhere
from fleetcal.services.performance.measured_climbs import ClimbCircumstances, measured_climbs
from fleetcal.services.plausible_point import HeldAgainst, doubted
from fleetcal.services.repeated_flight import settle_repeat
from fleetcal.services.supposed_weight import weight_taken
from fleetcal.store import (
    FlownFlight,
    NewSortie,
    Store,
    Touching,
    add_climbs,
    add_sortie,
    add_source,
    find_airframe,
    find_source,
    fit_in_force,
    select_climbs,
    sorties_of_source,
)
from fleetcal.units import M_PER_FT, MPS_PER_KT

if TYPE_CHECKING:
    from sqlalchemy.orm import Session


@dataclass(frozen=True, kw_only=True)
class ClimbTask:
    """What is asked of the reduction of climbs or glides.

    Attributes:
        kind: ``climb`` or ``glide``; the other kind in the log is left alone.
        power_state: Tag, such as full power, idle or stopped.
        thrust_power_kw: Of climbs: shaft power times propeller efficiency.
        power_held: Whether a governor holds the power in warm air.
        from_s, to_s: Only what lies between these times of the log; for a flight with several power
            states.
        from_ft, to_ft: Only the part of each within this band of pressure altitude.
        gradient_kt_per_1000ft: Change of wind with height that climbs flown one way may have had,
            as a standard uncertainty; they are then accepted with it. None accepts none.
    """

    kind: str
    power_state: str
    thrust_power_kw: float | None = None
    power_held: bool = False
    from_s: float = 0.0
    to_s: float = math.inf
    from_ft: float = -math.inf
    to_ft: float = math.inf
    gradient_kt_per_1000ft: float | None = None

    @property
    def is_all_of_log(self) -> bool:
        """Whether no part of the log was chosen."""
        return self.from_s <= 0.0 and math.isinf(self.to_s)


@dataclass(frozen=True, kw_only=True)
class ReducedClimbs:
    """Climbs or glides of one flight.

    Attributes:
        found: Steady climbs or glides of the kind in the log, flown either way.
        climbs: One a pair, or one that stands alone.
        notes: What temperature and humidity were taken to be.
    """

    airframe: str
    source: str
    flown_on: date
    kind: str
    power_state: str
    found: int
    climbs: tuple[Climb, ...]
    warnings: tuple[str, ...]
    stored: bool
    known_already: bool = False
    notes: tuple[str, ...] = ()


def reduce_climbs(
    store: Store,
    path: Path,
    details: FlightDetails,
    task: ClimbTask,
    settings: ReductionSettings,
    preview: bool = False,
) -> ReducedClimbs:
    """Find the climbs or glides of a log, reduce them and keep them, all or nothing.

    Args:
        details: With the airframe's tag.
        preview: Whether nothing is stored.

    Returns:
        With `known_already` when this kind of this file is in the store.

    Raises:
        UnknownNameError: If the airframe is not in the store.
        DataError: If the log cannot be read or has none of the kind, was stored for another
            airframe, or a climb comes without thrust power.
        RepeatedFlightError: If the store has them from another file and nobody said what they are.
    """
    if task.kind == "climb" and task.thrust_power_kw is None:
        raise DataError(
            "climbs are brought to standard temperature and weight with the thrust power",
            "give shaft power times propeller efficiency with --thrust-kw, to about 10 %",
        )
    if details.airframe is None:
        raise DataError("no airframe was named", "give its tag with --airframe")
    with store.reading() as session:
        airframe = find_airframe(session, details.airframe)
        details = replace(details, air=details.air.on(airframe))
    flight = read_flight(
        path,
        settings,
        details.airspeed_from,
        declination_deg=None,
        mapping=details.mapping,
        stated=details.air,
    )
    if flight.recorded is None:
        raise DataError(f"{path.name}: a table of legs has no climbs", "give a recorded flight")
    with store.reading() as session:
        result = _reduced(
            session, flight, flight.recorded, details=details, task=task, settings=settings
        )
        known = _known(session, flight, airframe.tag, task)
    if known or preview:
        return replace(result, known_already=known)
    replaced = store.write(
        lambda session: _keep(session, flight, result, details),
        Touching(airframes=(airframe.tag,)),
    )
    return replace(result, stored=True, warnings=(*result.warnings, *replaced))


def _reduced(
    session: Session,
    flight: Flight,
    recorded: Recorded,
    details: FlightDetails,
    task: ClimbTask,
    settings: ReductionSettings,
) -> ReducedClimbs:
    assert details.airframe is not None
    tag = details.airframe
    airframe = find_airframe(session, tag)
    flown_on = day_of_flight(flight, details.flown_on)
    fit = fit_in_force(airframe, flown_on)
    warnings = [*day_warnings(flight, flown_on)]
    taken = weight_taken(airframe, details.weight_kg, details.takeoff_weight_kg)
    details = replace(details, weight_kg=taken.weight_kg)
    warnings += taken.warnings
    bench = bench_in_force(session, tag, flown_on)
    checked = apply_bench(flight, bench)
    if "airspeed" in checked.kinds:
        corrected = bench.corrected("airspeed", recorded.airspeed_mps)
        recorded = replace(recorded, airspeed_mps=corrected)
    weight = flight_weight(flight, details, settings.legs.slowest_mps)
    gradient = task.gradient_kt_per_1000ft
    around = ClimbCircumstances(
        power_state=task.power_state,
        flap_setting=details.flap_setting,
        thrust_power_w=0.0 if task.kind == "glide" else 1000.0 * (task.thrust_power_kw or 0.0),
        power_exponent=0.0 if task.power_held else 0.5,
        u_temperature_k=flight.air.assumptions(settings.uncertainty).u_temperature_k,
        gradient_per_s=None if gradient is None else gradient * MPS_PER_KT / (1000.0 * M_PER_FT),
        propeller_pitch=fit.propeller.pitch,
    )
    climbs = _spans(recorded, task, settings)
    if not climbs:
        raise NoRunError(
            f"{flight.source_name}: no steady {task.kind} was found",
            "half a minute at one airspeed and heading is the least; look at the other kind, the "
            "times and the altitudes chosen too",
        )
    measured = measured_climbs(
        recorded, climbs, pair_climbs(climbs, settings.climbs), weight, around
    )
    return ReducedClimbs(
        airframe=tag,
        source=flight.source_name,
        flown_on=flown_on,
        kind=task.kind,
        power_state=task.power_state,
        found=len(climbs),
        climbs=doubted(
            [_doubted(climb, flight.doubt) for climb in measured], HeldAgainst(flown_on=flown_on)
        ),
        warnings=(*warnings, *flight.warnings, *weight.warnings, *checked.warnings),
        stored=False,
        notes=air_in_short(flight.air),
    )


def _doubted(climb: Climb, doubt: str) -> Climb:
    """Take back the acceptance of a climb of a doubtful flight."""
    return replace(climb, accepted=False, reason=climb.reason or doubt) if doubt else climb


def _spans(recorded: Recorded, task: ClimbTask, settings: ReductionSettings) -> list[ClimbSpan]:
    """Find what was asked for within the times and altitudes chosen."""
    inside = recorded.altitude_m >= task.from_ft * M_PER_FT
    inside &= recorded.altitude_m <= task.to_ft * M_PER_FT
    spans = find_climbs(
        recorded.t_s,
        recorded.airspeed_mps,
        np.where(inside, recorded.altitude_m, np.nan),
        recorded.track_rad,
        settings.climbs,
    )
    spans = [c for c in spans if c.t_start_s >= task.from_s and c.t_stop_s <= task.to_s]
    return [c for c in spans if (c.rate_mps > 0.0) == (task.kind == "climb")]


def _known(session: Session, flight: Flight, airframe: str, task: ClimbTask) -> bool:
    """Tell whether this kind of this file is stored, and refuse another airframe's file."""
    source = find_source(session, flight.sha256)
    if source is None:
        return False
    sorties = sorties_of_source(session, source)
    refuse_known_elsewhere(flight.source_name, sorties, airframe)
    mine = {sortie.sortie_id for sortie in sorties}
    states = {
        row.power_state for row in select_climbs(session, kind=task.kind) if row.sortie_id in mine
    }
    if states and task.power_state not in states and task.is_all_of_log:
        raise DataError(
            f"{flight.source_name}: its {task.kind}s are stored as {', '.join(sorted(states))}",
            "for several power states in one flight choose parts with --between-s",
        )
    return task.power_state in states


def _keep(
    session: Session, flight: Flight, result: ReducedClimbs, details: FlightDetails
) -> tuple[str, ...]:
    """Put the measurements under the sortie of the file, which may be there already.

    Returns:
        Whose place they take, in sentences.
    """
    new = FlownFlight(
        airframe=result.airframe,
        flown_on=result.flown_on,
        is_dated=result.flown_on == flight.flown_on,
        climbs=result.climbs,
    )
    replaced = settle_repeat(session, new, flight.source_name, flight.sha256, details.repeat)
    source = find_source(session, flight.sha256)
    sorties = sorties_of_source(session, source) if source is not None else []
    if sorties:
        number = sorties[0].sortie_id
    else:
        source = source or add_source(session, flight.sha256, flight.source_name, flight.kind)
        weight = sum(c.weight_kg for c in result.climbs) / len(result.climbs)
        sortie = NewSortie(
            airframe=result.airframe,
            flown_on=result.flown_on,
            weight_kg=weight,
            track_reference=flight.track_reference,
            settings_json="{}",
            note=details.note,
        )
        number = add_sortie(session, source, sortie, [], []).id
    before = sum(row.sortie_id == number for row in select_climbs(session))
    add_climbs(session, number, [replace(c, number=c.number + before) for c in result.climbs])
    return replaced
