"""Tell what was understood of a log: which column holds what, in which unit, how surely."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np

from fleetcal.atomic_write import write_atomically
from fleetcal.errors import DataError, FleetcalError, warned_of
from fleetcal.flightlog import (
    ColumnChoice,
    LogMapping,
    RawTable,
    Recording,
    any_table,
    column_values,
    is_igc,
    is_leg_sheet,
    map_columns,
    mapping_toml,
    read_igc,
    read_leg_sheet,
    read_mapping,
    read_recordings,
    recordings_from_table,
    track_reference,
    understand_columns,
)
from fleetcal.services.flights.airspeed_source import air_readings
from fleetcal.services.flights.settings_file import ReductionSettings

_MOST_STRANGERS: Final = 200
_SEPARATORS: Final = {"\t": "tab", " ": "blank", ",": "comma", ";": "semicolon", "|": "bar"}


@dataclass(frozen=True, kw_only=True)
class UnderstoodColumn:
    """One column of a log that holds a known quantity.

    Attributes:
        column: Counted from 1.
        unit_stated: False where the unit is the usual one and the file does not say it.
        confidence: From 0 to 1.
        sample: The first filled cell.
        lowest, highest: In the unit of the column; None for texts and times.
        missing_percent: Share of the rows without a value.
    """

    quantity: str
    column: int
    heading: str
    unit: str
    unit_stated: bool
    confidence: float
    sample: str
    lowest: float | None
    highest: float | None
    missing_percent: float | None
    by_mapping: bool


@dataclass(frozen=True, kw_only=True)
class LogUnderstanding:
    """What was understood of a log.

    Attributes:
        source, kind: `kind` is the format, in words.
        separator, decimal: In words; empty for a format that fixes them.
        begins_utc: Date and time of the first sample, if the log has a date.
        interval_s: Usual time between two samples.
        parts: Over how many stretches the clock runs forward; 0 if unknown.
        north: Where the tracks count from: true, magnetic or unknown.
        not_understood: Headings of the other columns.
        lacking: Why the log cannot be reduced as it is; empty if it can.
        hint: What to do about it.
    """

    source: str
    kind: str
    rows: int
    separator: str
    decimal: str
    begins_utc: str | None
    interval_s: float | None
    parts: int
    north: str
    columns: tuple[UnderstoodColumn, ...]
    not_understood: tuple[str, ...]
    lacking: str
    hint: str
    warnings: tuple[str, ...]


def understand_log(
    path: Path, mapping: Path | None = None, save_mapping: Path | None = None
) -> LogUnderstanding:
    """Read a log and tell what was understood of it.

    Args:
        mapping: File that overrides and completes what the headings say.
        save_mapping: Where to write what was understood as such a file.

    Raises:
        DataError: If the file is no table at all, or the mapping cannot be used or written.
    """
    column_mapping = read_mapping(mapping) if mapping is not None else None
    if is_igc(path):
        if save_mapping is not None:
            raise DataError(
                f"{path.name}: the format itself names its fields; there is no mapping to save",
                "leave --out out",
            )
        return _flight_record(path, column_mapping)
    table = any_table(path, column_mapping)
    choices = map_columns(table, understand_columns(table), column_mapping)
    north = (column_mapping.north if column_mapping else None) or track_reference(table, choices)
    if save_mapping is not None:
        write_atomically(save_mapping, mapping_toml(table, choices, north))
    sheet = is_leg_sheet(table, choices)
    read = (
        _read_sheet(path)
        if sheet
        else _read_log(lambda: recordings_from_table(table, column_mapping))
    )
    taken = {choice.index for choice in choices}
    strangers = [h for i, h in enumerate(table.headings) if i not in taken and h]
    return LogUnderstanding(
        source=table.source_name,
        kind="legs written by hand" if sheet else table.kind,
        rows=table.row_count,
        separator=_SEPARATORS.get(table.form.separator, table.form.separator),
        decimal="comma" if table.decimal == "," else "point",
        begins_utc=read.begins_utc,
        interval_s=read.interval_s,
        parts=read.parts,
        north=north,
        columns=tuple(_understood(table, choices)),
        not_understood=tuple(strangers[:_MOST_STRANGERS]),
        lacking=read.lacking,
        hint=read.hint,
        warnings=read.warnings,
    )


@dataclass(frozen=True, kw_only=True)
class _Read:
    """What reading the whole log found."""

    begins_utc: str | None = None
    interval_s: float | None = None
    parts: int = 0
    lacking: str = ""
    hint: str = ""
    warnings: tuple[str, ...] = ()


def _read_log(recordings: Callable[[], tuple[Recording, ...]]) -> _Read:
    """Read a log as a reduction would, and keep the refusal if there is one."""
    try:
        parts = recordings()
        with warned_of(w for part in parts for w in part.warnings):
            air = [air_readings(part, ReductionSettings()) for part in parts]
    except FleetcalError as error:
        return _Read(lacking=error.message, hint=error.hint, warnings=error.warnings)
    warnings = [*(w for p in parts for w in p.warnings), *(w for a in air for w in a.warnings)]
    start = parts[0].start_utc
    return _Read(
        begins_utc=start.isoformat(timespec="seconds") if start else None,
        interval_s=parts[0].sample_interval_s,
        parts=len(parts),
        warnings=tuple(dict.fromkeys(warnings)),
    )


def _read_sheet(path: Path) -> _Read:
    try:
        sheet = read_leg_sheet(path)
    except FleetcalError as error:
        return _Read(lacking=error.message, hint=error.hint)
    return _Read(parts=1, warnings=sheet.warnings)


def _understood(table: RawTable, choices: tuple[ColumnChoice, ...]) -> list[UnderstoodColumn]:
    """Describe each column that was understood, with the range of its numbers."""
    values = column_values(table, choices)
    return [_described(choice, values.get(choice.index)) for choice in choices]


def _described(
    choice: ColumnChoice, values: np.ndarray[tuple[int], np.dtype[np.float64]] | None
) -> UnderstoodColumn:
    lowest = highest = missing = None
    if values is not None and values.size:
        known = values[np.isfinite(values)]
        missing = 100.0 * (1.0 - known.size / values.size)
        if known.size and choice.unit not in {"hh:mm:ss", "hh:mm", "hhmmss"}:
            lowest, highest = float(known.min()), float(known.max())
    if choice.quantity in {"date", "date_time"} or (lowest and not math.isfinite(lowest)):
        lowest = highest = None
    return UnderstoodColumn(
        quantity=choice.quantity,
        column=choice.index + 1,
        heading=choice.heading,
        unit=choice.unit,
        unit_stated=choice.unit_stated,
        confidence=round(choice.confidence, 2),
        sample=choice.sample,
        lowest=lowest,
        highest=highest,
        missing_percent=missing,
        by_mapping=choice.mapped,
    )


def _flight_record(path: Path, column_mapping: LogMapping | None) -> LogUnderstanding:
    logged = read_igc(path)
    columns = tuple(_described(c, logged.values.get(c.index)) for c in logged.choices)
    read = _read_log(lambda: read_recordings(path, column_mapping))
    return LogUnderstanding(
        source=logged.source_name,
        kind=logged.kind,
        rows=int(logged.line_numbers.size),
        separator="",
        decimal="",
        begins_utc=read.begins_utc,
        interval_s=read.interval_s,
        parts=read.parts,
        north=logged.track_reference,
        columns=columns,
        not_understood=logged.other_fields,
        lacking=read.lacking,
        hint=read.hint,
        warnings=read.warnings,
    )
