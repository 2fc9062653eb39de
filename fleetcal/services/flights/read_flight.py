"""From a file to the legs of its runs: a recorded log, or legs written by hand."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.airdata.reading import Readings
from fleetcal.errors import DataError, MissingColumnError, warned_of
from fleetcal.flightlog import (
    LegSheet,
    LogMapping,
    Recording,
    SheetLeg,
    any_table,
    find_airspeeds,
    find_legs,
    find_manoeuvres,
    form_runs,
    is_igc,
    is_leg_sheet,
    join_parts,
    map_columns,
    read_leg_sheet,
    read_mapping,
    read_recordings,
    recordings_from_table,
    sheet_runs,
    summarise_leg,
    understand_columns,
)
from fleetcal.services.flights.air_taken import NOTHING_STATED, AirTaken, LoggedHumidity, StatedAir
from fleetcal.services.flights.airspeed_source import AirReadings, air_readings
from fleetcal.services.flights.cut_legs import Recorded, cut_leg, recorded_samples
from fleetcal.services.flights.flown_leg import FlownLeg
from fleetcal.services.flights.likely_cause import likely_cause
from fleetcal.services.flights.settings_file import ReductionSettings
from fleetcal.services.flights.still_column import one_ground_speed, stood_still_doubt
from fleetcal.services.flights.turns_flown import turns_between
from fleetcal.services.flights.unit_doubt import assumed_speeds, assumed_units


@dataclass(frozen=True, kw_only=True)
class GroupedLegs:
    """Legs that belong together; refused with a reason before any solving, or not.

    Attributes:
        refusal: Empty when the run can be solved.
        flap_setting: When the file says so.
        number: Of the run within the flight; 0 for its place in the sequence.
        turns: What was flown from each leg to the next, where it counts; empty if nothing is known.
        dropped: Legs, counted from 1, that somebody decided to leave out.
        left_out: Whether somebody decided to leave out the whole run.
    """

    legs: tuple[FlownLeg, ...]
    refusal: str
    flap_setting: str | None
    number: int = 0
    turns: tuple[FlownLeg | None, ...] = ()
    dropped: tuple[int, ...] = ()
    left_out: bool = False


@dataclass(frozen=True, kw_only=True)
class Flight:
    """What a file holds, ready to be solved.

    Attributes:
        source_name, sha256, kind: `kind` is ``log`` or ``leg_sheet``.
        flown_on: When the file says so.
        leg_count: Legs found, whether or not they joined a run.
        manoeuvres: Steady turns and boxes; none from a sheet.
        airspeeds: Stretches at each airspeed that the flight was flown at, the slowest first; none
            from a sheet.
        air: What temperature and humidity are taken to be.
        altitude_from: ``pressure_altitude`` or ``static_pressure``.
        recorded: Every sample of a log; None for a sheet.
        doubt: Why no point of it is to be accepted; empty if nothing speaks against it.
        assumed: Which units are only assumed, in words; empty if none is.
        likely_cause: What in the log most likely hides its legs; empty if nothing is known to.
    """

    source_name: str
    sha256: str
    kind: str
    flown_on: date | None
    track_reference: str
    airspeed_from: str
    leg_count: int
    runs: tuple[GroupedLegs, ...]
    manoeuvres: tuple[FlownLeg, ...]
    airspeeds: tuple[tuple[FlownLeg, ...], ...]
    steps: dict[str, float]
    warnings: tuple[str, ...]
    air: AirTaken
    altitude_from: str = "pressure_altitude"
    recorded: Recorded | None = None
    doubt: str = ""
    assumed: str = ""
    likely_cause: str = ""

    @property
    def parts(self) -> list[FlownLeg]:
        """Legs, manoeuvres and stretches at one airspeed: all that may be solved."""
        return [
            *(leg for run in self.runs for leg in run.legs),
            *self.manoeuvres,
            *(flown for stretches in self.airspeeds for flown in stretches),
        ]

    def changed(self, change: Callable[[FlownLeg], FlownLeg]) -> Flight:
        """Return the flight with every part of it changed, turns too."""
        return replace(
            self,
            runs=tuple(
                replace(
                    run,
                    legs=tuple(change(leg) for leg in run.legs),
                    turns=tuple(turn and change(turn) for turn in run.turns),
                )
                for run in self.runs
            ),
            manoeuvres=tuple(change(flown) for flown in self.manoeuvres),
            airspeeds=tuple(
                tuple(change(flown) for flown in stretches) for stretches in self.airspeeds
            ),
        )


def read_flight(
    path: Path,
    settings: ReductionSettings,
    airspeed_from: str | None = None,
    declination_deg: float | None = None,
    mapping: Path | None = None,
    stated: StatedAir = NOTHING_STATED,
    *,
    heading_used: bool = False,
) -> Flight:
    """Read a file and find what can be solved in it.

    Args:
        path: A delimited log with a clock, a flight record of an open format, or a table of legs
            written by hand; plain, or packed by gzip or zip.
        airspeed_from: Which airspeed to use when the file has several.
        declination_deg: Added to magnetic tracks to make them true, deg, east positive.
        mapping: File that overrides and completes what the headings say.
        stated: What is said of temperature and humidity outside the file.
        heading_used: Whether the log's heading is to tell the wind across it.

    Returns:
        A log whose clock starts anew is read part by part: no leg, run or manoeuvre crosses from
        one to the next.

    Raises:
        DataError: If the file cannot be read or its columns contradict each other.
    """
    column_mapping = read_mapping(mapping) if mapping is not None else None
    if is_igc(path):
        parts = read_recordings(path, column_mapping, stated.noted)
    else:
        table = any_table(path, column_mapping)
        if is_leg_sheet(table, map_columns(table, understand_columns(table), column_mapping)):
            sheet = _sheet_to_true(_sheet(path, column_mapping, stated), declination_deg)
            return _from_sheet(sheet, settings, stated)
        parts = recordings_from_table(table, column_mapping, stated.noted)
    recording = _to_true(join_parts(parts), declination_deg)
    if not heading_used:
        gone = {k: v for k, v in recording.channels.items() if k != "heading"}
        recording = replace(recording, channels=gone)
    elif "heading" not in recording.channels:
        raise MissingColumnError(
            f"{recording.source_name}: no heading is logged, and it was to be used",
            "leave '--heading used' out, or name its column in a mapping",
        )
    return _from_recording(recording, settings, airspeed_from, stated)


def _sheet(path: Path, mapping: LogMapping | None, stated: StatedAir) -> LegSheet:
    if mapping is not None:
        raise DataError(
            f"{path.name} is a table of legs written by hand; {mapping.source_name} is for logs",
            "write the headings as 'fleetcal reduce --help' shows them",
        )
    return read_leg_sheet(path, stated.noted)


def _to_true(recording: Recording, declination_deg: float | None) -> Recording:
    if declination_deg is None:
        return recording
    turn = _declination_rad(recording.source_name, recording.track_reference, declination_deg)
    channels = {**recording.channels, "track": recording.channels["track"] + turn}
    return replace(recording, channels=channels, track_reference="true")


def _sheet_to_true(sheet: LegSheet, declination_deg: float | None) -> LegSheet:
    if declination_deg is None:
        return sheet
    turn = _declination_rad(sheet.source_name, sheet.track_reference, declination_deg)
    legs = tuple(replace(leg, track_rad=leg.track_rad + turn) for leg in sheet.legs)
    return replace(sheet, legs=legs, track_reference="true")


def _declination_rad(source_name: str, reference: str, declination_deg: float) -> float:
    if reference == "true":
        raise DataError(
            f"{source_name}: the tracks are true already, and a declination was given",
            "leave the declination out",
        )
    return float(np.radians(declination_deg))


def _from_recording(
    recording: Recording, settings: ReductionSettings, airspeed_from: str | None, stated: StatedAir
) -> Flight:
    with warned_of(recording.warnings):
        air = air_readings(recording, settings, stated, airspeed_from)
    speed, track = recording.channels["ground_speed"], recording.channels["track"]
    spans = find_legs(
        recording.t_s,
        air.airspeed_mps,
        air.altitude_m,
        track_rad=track,
        ground_speed_mps=speed,
        settings=settings.legs,
        roll_rad=recording.channels.get("roll"),
    )
    recorded = recorded_samples(recording, air)
    legs = [cut_leg(recorded, span.start, span.stop) for span in spans]
    summaries = [
        summarise_leg(
            span,
            recording.t_s,
            air.airspeed_mps,
            altitude_m=air.altitude_m,
            temperature_k=air.temperature_k,
            track_rad=track,
            ground_speed_mps=speed,
        )
        for span in spans
    ]
    plans = form_runs(summaries, settings.runs)
    altitude_from = _altitude_from(recording)
    return Flight(
        source_name=recording.source_name,
        sha256=recording.sha256,
        kind="log",
        flown_on=recording.start_utc.date() if recording.start_utc else None,
        track_reference=recording.track_reference,
        airspeed_from=air.airspeed_from,
        leg_count=len(legs),
        runs=tuple(
            GroupedLegs(
                legs=tuple(legs[i] for i in p.legs),
                refusal=p.refusal or "",
                flap_setting=None,
                turns=turns_between(recorded, [legs[i] for i in p.legs], legs),
            )
            for p in plans
        ),
        manoeuvres=_manoeuvres(recording, recorded, settings),
        airspeeds=_airspeeds(recorded, settings),
        steps=air.steps,
        warnings=(*recording.warnings, *air.warnings),
        air=air.taken,
        altitude_from=altitude_from,
        recorded=recorded,
        doubt=_doubt_of(recording, air, altitude_from),
        assumed=assumed_units(recording.columns, air.airspeed_from),
        likely_cause=likely_cause(recorded, settings.legs, recording.warnings),
    )


def _doubt_of(recording: Recording, air: AirReadings, altitude_from: str) -> str:
    return (
        stood_still_doubt(recording.still, air.airspeed_from, altitude_from)
        or air.doubt
        or assumed_speeds(recording.columns, air.airspeed_from)
    )


def _altitude_from(recording: Recording) -> str:
    return next(c for c in ("pressure_altitude", "static_pressure") if c in recording.channels)


def _manoeuvres(
    recording: Recording, recorded: Recorded, settings: ReductionSettings
) -> tuple[FlownLeg, ...]:
    spans = find_manoeuvres(
        recorded.t_s,
        recorded.airspeed_mps,
        recorded.altitude_m,
        recorded.track_rad,
        settings.manoeuvres,
        roll_rad=recording.channels.get("roll"),
    )
    return tuple(cut_leg(recorded, span.start, span.stop) for span in spans)


def _airspeeds(recorded: Recorded, settings: ReductionSettings) -> tuple[tuple[FlownLeg, ...], ...]:
    spans = find_airspeeds(
        recorded.t_s, recorded.airspeed_mps, recorded.track_rad, settings.airspeeds
    )
    found: dict[int, list[FlownLeg]] = {span.airspeed: [] for span in spans}
    for span in spans:
        flown = cut_leg(recorded, span.start, span.stop)
        found[span.airspeed].append(flown)
    return tuple(tuple(found[airspeed]) for airspeed in sorted(found))


def _from_sheet(sheet: LegSheet, settings: ReductionSettings, stated: StatedAir) -> Flight:
    taken = settings.temperature_taken(sheet.temperature_kind, stated)
    humidity, moist = settings.humidity_taken(
        _sheet_readings(sheet, taken.recovery_factor),
        LoggedHumidity(sheet.relative_humidity, sheet.dew_point_k),
        stated,
        sheet.source_name,
    )
    legs = [
        _read_once(leg, taken.recovery_factor, float(share))
        for leg, share in zip(sheet.legs, humidity, strict=True)
    ]
    runs = tuple(
        GroupedLegs(
            legs=tuple(legs[i] for i in plan.legs),
            refusal=plan.refusal or "",
            flap_setting=sheet.legs[plan.legs[0]].flap_setting,
        )
        for plan in sheet_runs(sheet, settings.runs)
    )
    steps = {
        "airspeed": sheet.resolution.get("indicated_airspeed", 0.0),
        "altitude": sheet.resolution.get("pressure_altitude", 0.0),
        "temperature": sheet.resolution.get("temperature", 0.0),
        "ground_speed": sheet.resolution.get("ground_speed", 0.0),
        "track": sheet.resolution.get("track", 0.0),
    }
    return Flight(
        source_name=sheet.source_name,
        sha256=sheet.sha256,
        kind="leg_sheet",
        flown_on=None,
        track_reference=sheet.track_reference,
        airspeed_from="indicated_airspeed",
        leg_count=len(legs),
        runs=runs,
        manoeuvres=(),
        airspeeds=(),
        steps=steps,
        warnings=sheet.warnings,
        air=AirTaken(taken, moist, sheet.noted),
        doubt=(one_ground_speed(sheet.legs) or assumed_speeds(sheet.columns, "indicated_airspeed")),
        assumed=assumed_units(sheet.columns, "indicated_airspeed"),
    )


def _sheet_readings(sheet: LegSheet, recovery_factor: float) -> Readings:
    return Readings(
        airspeed_mps=np.array([leg.airspeed_mps for leg in sheet.legs]),
        altitude_m=np.array([leg.pressure_altitude_m for leg in sheet.legs]),
        temperature_k=np.array([leg.temperature_k for leg in sheet.legs]),
        recovery_factor=np.asarray(recovery_factor),
    )


def _read_once(leg: SheetLeg, recovery_factor: float, relative_humidity: float) -> FlownLeg:
    def one(value: float) -> Array:
        return np.array([value])

    return FlownLeg(
        start_s=leg.time_s,
        stop_s=leg.time_s,
        time_s=one(leg.time_s if leg.time_s is not None else 0.0),
        airspeed_mps=one(leg.airspeed_mps),
        altitude_m=one(leg.pressure_altitude_m),
        temperature_k=one(leg.temperature_k),
        east_mps=one(leg.ground_speed_mps * np.sin(leg.track_rad)),
        north_mps=one(leg.ground_speed_mps * np.cos(leg.track_rad)),
        recovery_factor=recovery_factor,
        relative_humidity=one(relative_humidity),
    )
