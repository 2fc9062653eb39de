"""The cruise of pairings and airframes as pages show it, where powers of runs were noted."""

from __future__ import annotations

from collections.abc import Sequence

from fleetcal.errors import FleetcalError
from fleetcal.publish.site.content_climbs import CruiseBlock, CruiseCells, OwnRates, climbs_path
from fleetcal.services.curves.group_name import GroupName
from fleetcal.services.performance.answer_words import cruise_answer
from fleetcal.services.performance.cruise_flown import CruiseRequest
from fleetcal.services.performance.cruise_table import CruiseLine, CruiseTable, cruise_table
from fleetcal.services.publishing.discretion import Discretion
from fleetcal.store import CruiseRow, Store


def cruise_blocks(
    store: Store, rows: Sequence[CruiseRow], type_name: str, discretion: Discretion
) -> tuple[list[CruiseBlock], list[str]]:
    """Return the cruise of each pairing of a type, and in sentences what cannot be pooled.

    Args:
        rows: All runs whose power is noted.
    """
    found, too_few = [], []
    flown = {
        (row.point.flap_setting, str(GroupName("", row.point.engine, row.point.propeller)))
        for row in rows
        if row.point.type == type_name
    }
    for flaps, pairing in sorted(flown):
        request = CruiseRequest(pairing=pairing, type=type_name, flap_setting=flaps)
        try:
            found.append(_block(cruise_table(store, request), discretion))
        except FleetcalError as error:
            too_few.append(discretion.words(f"Cruise, {pairing}: {error.message}."))
    return found, too_few


def own_cruise(store: Store, rows: Sequence[CruiseRow], discretion: Discretion) -> list[OwnRates]:
    """Return what the cruise of one airframe says.

    Args:
        rows: Its runs whose power is noted.
    """
    found = []
    for flaps in sorted({row.point.flap_setting for row in rows}):
        own = [row.point for row in rows if row.point.flap_setting == flaps]
        request = CruiseRequest(airframe=own[0].airframe, type=own[0].type, flap_setting=flaps)
        try:
            answer = cruise_answer(cruise_table(store, request))
        except FleetcalError as error:
            answer = f"{error.message[:1].upper()}{error.message[1:]}."
        found.append(
            OwnRates(
                kind="cruise",
                power_state="",
                flap_setting=flaps,
                measurements=len(own),
                answers=(discretion.words(answer),),
                page=climbs_path(own[0].type),
            )
        )
    return found


def _block(found: CruiseTable, discretion: Discretion) -> CruiseBlock:
    return CruiseBlock(
        pairing=found.pairing,
        flap_setting=found.flap_setting,
        answer=cruise_answer(found),
        lines=tuple(map(_cells, found.lines)),
        runs=len(found.runs),
        airframes=len(found.airframes),
        notes=tuple(discretion.words(f"{one[:1].upper()}{one[1:]}.") for one in found.notes),
    )


def _cells(line: CruiseLine) -> CruiseCells:
    return CruiseCells(
        power_pct=line.power_pct,
        pressure_altitude_ft=line.pressure_altitude_ft,
        weight_kg=line.weight_kg,
        tas_kt=line.tas_kt,
        mean_low_kt=line.mean_low_kt,
        mean_high_kt=line.mean_high_kt,
        next_low_kt=line.next_low_kt,
        next_high_kt=line.next_high_kt,
        handbook=line.handbook,
        handbook_tas_kt=line.handbook_tas_kt,
        note=line.note,
    )
