"""Legs written down by hand: one row a leg, with or without a clock."""

from __future__ import annotations

import math
import os
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from fleetcal.errors import MalformedFileError
from fleetcal.flightlog.altimeter import pressure_altitude_from_setting
from fleetcal.flightlog.cells import Floats, read_numbers, read_texts
from fleetcal.flightlog.channels import LIMITS, track_reference
from fleetcal.flightlog.clock import CLOCK_QUANTITIES, choose_clock, read_clock
from fleetcal.flightlog.columns import ColumnChoice, understand_columns
from fleetcal.flightlog.essentials import require_sheet_essentials
from fleetcal.flightlog.noted import (
    NOTHING_NOTED,
    Noted,
    NotedTemperature,
    noted_channels,
    settle_noted_temperature,
    with_noted_altitude,
)
from fleetcal.flightlog.raw_table import RawTable, read_table
from fleetcal.flightlog.resolution import written_step
from fleetcal.flightlog.runs import RunPlan, form_runs, judge_run
from fleetcal.flightlog.settings import RunSettings
from fleetcal.flightlog.summary import LegSummary
from fleetcal.units import to_si

MOST_ROWS: Final = 60
_SLOW_CLOCK_S: Final = 20.0
#: What is written by hand is a compass figure; a log may count tracks from -180 degrees.
_SHEET_LIMITS: Final = {**LIMITS, "track": (-1e-9, math.tau + 1e-9)}
_CELL_HINT: Final = "Every leg needs airspeed, altitude, temperature, ground speed and track."
_TRACK_HINT: Final = "A track is written from 0 to 360 degrees: look for a typing error."
_TEMPERATURES: Final = ("static_temperature", "total_temperature", "probe_temperature")


@dataclass(frozen=True, kw_only=True)
class SheetLeg:
    """One leg as written down, in SI.

    Attributes:
        run: What the sheet writes in its run column.
        airspeed_mps, pressure_altitude_m, temperature_k, ground_speed_mps, track_rad: The readings.
        time_s: Seconds after the first leg.
        line: Line of the file.
    """

    run: str | None
    airspeed_mps: float
    pressure_altitude_m: float
    temperature_k: float
    ground_speed_mps: float
    track_rad: float
    time_s: float | None
    flap_setting: str | None
    line: int


@dataclass(frozen=True, kw_only=True)
class LegSheet:
    """A sheet of hand-written legs.

    Attributes:
        resolution: One unit of the last decimal written, in SI, by quantity.
        temperature_kind: static, total or probe.
        track_reference: true, magnetic or unknown.
        relative_humidity, dew_point_k (legs,), or None: 1 at saturation, and K; NaN where the cell
            is empty, None without the column.
        noted: What the temperatures are taken from where the sheet has none.
    """

    source_name: str
    sha256: str
    legs: tuple[SheetLeg, ...]
    resolution: dict[str, float]
    temperature_kind: str = "probe"
    track_reference: str = "unknown"
    relative_humidity: Floats | None = None
    dew_point_k: Floats | None = None
    warnings: tuple[str, ...] = ()
    columns: tuple[ColumnChoice, ...] = ()
    noted: NotedTemperature | None = None


def is_leg_sheet(table: RawTable, choices: tuple[ColumnChoice, ...]) -> bool:
    """Tell whether a table is a sheet of legs and not a log with a clock.

    A sheet has few rows and either no clock, a column of runs or legs, or a
    clock that steps by 20 s or more.
    """
    if table.row_count > MOST_ROWS:
        return False
    quantities = {choice.quantity for choice in choices}
    if not quantities & set(CLOCK_QUANTITIES) or quantities & {"run", "leg"}:
        return True
    times = _times(table, choices)
    known = times[np.isfinite(times)]
    return known.size < 2 or float(np.median(np.abs(np.diff(known)))) >= _SLOW_CLOCK_S


def read_leg_sheet(path: str | os.PathLike[str], noted: Noted = NOTHING_NOTED) -> LegSheet:
    """Read hand-written legs; every cell counts, so none may be unreadable.

    Args:
        path: Path-like.
        noted: Stands in for a column of the temperature, or of the altimeter's setting.

    Raises:
        MissingColumnError: If airspeed, pressure altitude, temperature, ground speed or track is
            not in the file.
        MalformedFileError: If a row has an essential cell that is empty, no number or cannot be, or
            the table is too long for a sheet.
    """
    table = read_table(path)
    choices = with_noted_altitude(table, understand_columns(table), noted)
    require_sheet_essentials(table, choices, noted.quantities)
    if table.row_count > MOST_ROWS:
        raise MalformedFileError(
            f"{table.source_name}: {table.row_count} rows, but a sheet of legs has at most "
            f"{MOST_ROWS}.",
            "Read a log with a clock as a recording.",
        )
    if table.spoilt:
        raise MalformedFileError(f"{table.source_name}: {table.spoilt[0]}.", "Correct the row.")
    found = {choice.quantity: choice for choice in choices}
    temperature = next((q for q in _TEMPERATURES if q in found), None)
    altitudes = ["pressure_altitude"]
    if "pressure_altitude" not in found:
        altitudes = [q for q in ("baro_altitude", "altimeter_setting") if q in found]
    quantities = ["indicated_airspeed", *altitudes, "ground_speed", "track"]
    quantities += [temperature] if temperature is not None else []
    values = {quantity: _column(table, found[quantity]) for quantity in quantities}
    step = {q: written_step(_finest(table, found[q]), found[q].unit) for q in quantities}
    notes = noted_channels(table.source_name, values, step, noted)
    if "altimeter_setting" in values:
        values["pressure_altitude"] = pressure_altitude_from_setting(
            values["baro_altitude"], values["altimeter_setting"]
        )
    if temperature is not None:
        values["temperature"], step["temperature"] = values[temperature], step.pop(temperature)
    taken = settle_noted_temperature(table.source_name, values, step, noted)
    step.setdefault("pressure_altitude", step.get("baro_altitude", 0.0))
    unstated = [found[quantity] for quantity in quantities if not found[quantity].unit_stated]
    return LegSheet(
        source_name=table.source_name,
        sha256=table.sha256,
        legs=_legs(table, choices, values, values["temperature"]),
        resolution=step,
        temperature_kind=(temperature or "probe").removesuffix("_temperature"),
        track_reference=track_reference(table, choices),
        relative_humidity=_may_lack(table, found.get("relative_humidity")),
        dew_point_k=_may_lack(table, found.get("dew_point")),
        warnings=(
            *(f"'{c.heading}' states no unit; {c.unit} is assumed" for c in unstated),
            *notes,
        ),
        noted=taken,
        columns=choices,
    )


def _legs(
    table: RawTable,
    choices: tuple[ColumnChoice, ...],
    values: dict[str, Floats],
    temperature: Floats,
) -> tuple[SheetLeg, ...]:
    """Put the columns together row by row."""
    runs = _texts(table, choices, "run")
    flaps = _texts(table, choices, "flap_setting")
    times = _times(table, choices)
    return tuple(
        SheetLeg(
            run=runs[i],
            airspeed_mps=float(values["indicated_airspeed"][i]),
            pressure_altitude_m=float(values["pressure_altitude"][i]),
            temperature_k=float(temperature[i]),
            ground_speed_mps=float(values["ground_speed"][i]),
            track_rad=float(values["track"][i]),
            time_s=float(times[i]) if math.isfinite(times[i]) else None,
            flap_setting=flaps[i],
            line=int(table.line_numbers[i]),
        )
        for i in range(table.row_count)
    )


def _may_lack(table: RawTable, choice: ColumnChoice | None) -> Floats | None:
    """Read one column of which cells may be empty, if it is there."""
    return None if choice is None else _column(table, choice, may_lack=True)


def _column(table: RawTable, choice: ColumnChoice, *, may_lack: bool = False) -> Floats:
    """Read one column of which no cell may be spoilt."""
    numbers, _ = read_numbers(table, {choice.index: choice.heading})
    values = np.asarray(to_si(numbers[choice.index], choice.unit), dtype=np.float64)
    low, high = _SHEET_LIMITS[choice.quantity]
    wrong = ~((values >= low) & (values <= high))
    cells = read_texts(table, [choice.index])[choice.index] if wrong.any() else []
    if may_lack and cells:
        wrong &= np.array([bool(cell.strip()) for cell in cells])
    if wrong.any():
        first = int(np.argmax(wrong))
        cell = cells[first]
        raise MalformedFileError(
            f"{table.source_name}, line {table.line_numbers[first]}, column '{choice.heading}': "
            f"{cell!r} is impossible.",
            _TRACK_HINT if choice.quantity == "track" else _CELL_HINT,
        )
    return values


def _finest(table: RawTable, choice: ColumnChoice) -> str:
    """Return the cell with the most decimals."""
    texts = read_texts(table, [choice.index])[choice.index]
    return max(texts, key=lambda cell: len(cell.replace(",", ".").partition(".")[2]))


def _texts(table: RawTable, choices: tuple[ColumnChoice, ...], quantity: str) -> list[str | None]:
    """Read a column of text, None where it is empty or not there."""
    choice = next((choice for choice in choices if choice.quantity == quantity), None)
    if choice is None:
        return [None] * table.row_count
    return [cell or None for cell in read_texts(table, [choice.index])[choice.index]]


def _times(table: RawTable, choices: tuple[ColumnChoice, ...]) -> Floats:
    """Read the times of the legs in seconds after the first, NaN where there are none."""
    clock = choose_clock(choices)
    if clock is None:
        return np.full(table.row_count, np.nan)
    seconds = read_clock(table, choices, clock).seconds
    known = seconds[np.isfinite(seconds)]
    return seconds - (known[0] if known.size else 0.0)


def summarise_sheet_leg(leg: SheetLeg) -> LegSummary:
    """Bring a hand-written leg into the form of a found one.

    Returns:
        One sample; standard deviations NaN, times NaN if not written.
    """
    time = math.nan if leg.time_s is None else leg.time_s
    return LegSummary(
        t_start_s=time,
        t_stop_s=time,
        airspeed_mps=leg.airspeed_mps,
        altitude_m=leg.pressure_altitude_m,
        temperature_k=leg.temperature_k,
        ground_east_mps=leg.ground_speed_mps * math.sin(leg.track_rad),
        ground_north_mps=leg.ground_speed_mps * math.cos(leg.track_rad),
        track_rad=leg.track_rad % math.tau,
        samples=1,
    )


def sheet_runs(sheet: LegSheet, settings: RunSettings | None = None) -> list[RunPlan]:
    """Group hand-written legs by their run column, or by speed where there is none.

    Legs with different flap settings are never in one run.

    Returns:
        With places in `sheet.legs`.
    """
    summaries = [summarise_sheet_leg(leg) for leg in sheet.legs]
    groups: dict[tuple[str | None, str | None], list[int]] = {}
    for index, leg in enumerate(sheet.legs):
        groups.setdefault((leg.run, leg.flap_setting), []).append(index)
    plans: list[RunPlan] = []
    for (run, _), members in groups.items():
        if run is not None:
            plans.append(RunPlan(tuple(members), judge_run(summaries, members, settings)))
            continue
        inner = form_runs([summaries[index] for index in members], settings)
        plans.extend(_renumbered(inner, members))
    return sorted(plans, key=lambda plan: plan.legs)


def _renumbered(plans: Sequence[RunPlan], members: Sequence[int]) -> list[RunPlan]:
    """Carry places within a group to places in the sheet."""
    return [RunPlan(tuple(members[i] for i in plan.legs), plan.refusal) for plan in plans]
