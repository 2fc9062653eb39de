"""A recorded flight as one tidy set of channels in SI units over one clock."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import Final, TypeVar

import numpy as np
import numpy.typing as npt

from fleetcal.errors import MalformedFileError, warned_of
from fleetcal.flightlog.cells import ColumnForm, Floats, NumberColumn, read_columns
from fleetcal.flightlog.channels import (
    LIMITS,
    assumptions,
    believable,
    settle_altitude,
    settle_ground,
    settle_temperature,
    step_of,
    track_reference,
)
from fleetcal.flightlog.clock import (
    CLOCK_QUANTITIES,
    choose_clock,
    clock_columns,
    settle_clock,
)
from fleetcal.flightlog.columns import ColumnChoice, understand_columns, unread_units
from fleetcal.flightlog.common_rows import at_common_rows
from fleetcal.flightlog.contradictions import contradictions
from fleetcal.flightlog.essentials import require_essentials
from fleetcal.flightlog.frozen import without_frozen
from fleetcal.flightlog.igc import is_igc, read_igc
from fleetcal.flightlog.logged import Logged
from fleetcal.flightlog.mapping import LogMapping, map_columns
from fleetcal.flightlog.noted import (
    NOTHING_NOTED,
    Noted,
    NotedTemperature,
    noted_channels,
    settle_noted_temperature,
    with_noted_altitude,
)
from fleetcal.flightlog.parts import Indices, forward_parts, require_running_clock
from fleetcal.flightlog.raw_table import RawTable
from fleetcal.flightlog.standing_still import stood_still
from fleetcal.flightlog.tables import any_table

Column = TypeVar("Column", Floats, npt.NDArray[np.int32])

_LATEST_S: Final = 230 * 365.25 * 86400.0


@dataclass(frozen=True, kw_only=True)
class Recording:
    """A recorded flight in SI units.

    Attributes:
        source_name: File name without folder.
        sha256: Of the bytes of the file.
        start_utc: Instant of the first sample, aware; None if the clock has no date.
        t_s (n,): Seconds from the first sample, strictly increasing.
        channels (n,): Quantity -> values in SI, NaN where missing; only what is in the file.
        temperature_kind: What ``temperature`` is: static, total or probe (recovery unknown).
        track_reference: true, magnetic or unknown, as the heading of the track says.
        resolution: Smallest step of the logged values in SI, 0 where they show none.
        warnings: What was assumed or left out, for people.
        line_numbers (n,): Line of each sample in the file.
        part: Which part of the file it is, from 1.
        noted: What ``temperature`` is taken from where none is logged.
        still: Quantity -> in words, how its column stood still through the flight.
    """

    source_name: str
    sha256: str
    start_utc: datetime | None
    t_s: Floats = field(repr=False)
    channels: dict[str, Floats] = field(repr=False)
    temperature_kind: str
    track_reference: str
    resolution: dict[str, float]
    columns: tuple[ColumnChoice, ...] = field(repr=False)
    warnings: tuple[str, ...]
    line_numbers: npt.NDArray[np.int32] = field(
        repr=False, default_factory=lambda: np.zeros(0, dtype=np.int32)
    )
    part: int = 1
    noted: NotedTemperature | None = None
    still: dict[str, str] = field(default_factory=dict)

    @property
    def sample_interval_s(self) -> float:
        """Usual time between two samples in seconds."""
        return float(np.median(np.diff(self.t_s)))


def read_recordings(
    path: str | os.PathLike[str], mapping: LogMapping | None = None, noted: Noted = NOTHING_NOTED
) -> tuple[Recording, ...]:
    """Read a recorded flight of any dialect by what its headings say.

    Args:
        path (path-like): Delimited text, ICARTT or IGC; plain, or packed by gzip or zip.
        mapping: Overrides and completes what the headings say.
        noted: Stands in for a temperature or an altimeter setting that is not logged.

    Returns:
        One for each part over which the clock runs forward, in the order of the file. What holds
        for the whole file is told with the first part.

    Raises:
        MissingColumnError: If clock, ground speed, track, temperature, an altitude or an airspeed
            source is not in the file.
        DataError: Its other kinds as `read_table` raises them, and `MalformedFileError` for more
            than 2 % unreadable cells in a column.
    """
    place = Path(path)
    if is_igc(place):
        return recordings_of(read_igc(place), mapping, noted)
    return recordings_from_table(any_table(place, mapping), mapping, noted)


def read_recording(path: str | os.PathLike[str], mapping: LogMapping | None = None) -> Recording:
    """Read a recorded flight; of several parts the one with the most samples.

    Args:
        path: Path-like.

    Raises:
        DataError: As `read_recordings`.
    """
    return _largest(read_recordings(path, mapping))


def recording_from_table(table: RawTable, mapping: LogMapping | None = None) -> Recording:
    """Turn a table into a recording; see `read_recording`."""
    return _largest(recordings_from_table(table, mapping))


def _largest(parts: tuple[Recording, ...]) -> Recording:
    if len(parts) == 1:
        return parts[0]
    largest = max(parts, key=lambda part: part.t_s.size)
    others = sum(part.t_s.size for part in parts) - largest.t_s.size
    warning = f"only part {largest.part} of {len(parts)} is taken; {others} rows left out"
    return replace(largest, warnings=(*parts[0].warnings, warning))


def recordings_from_table(
    table: RawTable, mapping: LogMapping | None = None, noted: Noted = NOTHING_NOTED
) -> tuple[Recording, ...]:
    """Turn a table into recordings; see `read_recordings`."""
    choices = map_columns(table, understand_columns(table), mapping)
    choices = with_noted_altitude(table, choices, noted)
    require_essentials(table, choices, noted=noted.quantities)
    clock = choose_clock(choices)
    assert clock is not None  # require_essentials has seen to it
    used = [choice for choice in choices if choice.quantity in LIMITS]
    forms: dict[int, ColumnForm] = {c.index: NumberColumn(c.heading, c.missing) for c in used}
    values, cell_warnings = read_columns(table, {**forms, **clock_columns(choices, clock)})
    reading = settle_clock(table, choices, clock, values)
    values = {index: values[index] for index in forms}  # the clock is settled, its cells may go
    north = mapping.north if mapping else None
    logged = Logged(
        source_name=table.source_name,
        sha256=table.sha256,
        kind=table.kind,
        headings=table.headings,
        clock_heading=clock.heading,
        clock=reading,
        line_numbers=table.line_numbers,
        choices=choices,
        values=values,
        track_reference=north or track_reference(table, choices),
        warnings=(*table.spoilt, *_left_alone(table, choices), *reading.warnings, *cell_warnings),
    )
    return recordings_of(logged, mapping, noted)


def column_values(table: RawTable, choices: tuple[ColumnChoice, ...]) -> dict[int, Floats]:
    """Read the numbers of the understood columns, as far as they can be read.

    Returns:
        Shape (rows,): Place of the column -> numbers in its unit; a column of texts, or one with
        too many unreadable cells, is not in it.
    """
    found: dict[int, Floats] = {}
    clocks = {c.index: c for c in choices if c.quantity in CLOCK_QUANTITIES}
    for choice in choices:
        forms: dict[int, ColumnForm] = {}
        if choice.quantity in LIMITS:
            forms[choice.index] = NumberColumn(choice.heading, choice.missing)
        elif choice.index in clocks:
            forms = clock_columns((choice,), choice)
        with suppress(MalformedFileError):
            found.update(read_columns(table, forms)[0] if forms else {})
    return found


def recordings_of(
    logged: Logged, mapping: LogMapping | None = None, noted: Noted = NOTHING_NOTED
) -> tuple[Recording, ...]:
    """Divide what a file logs into recordings over which the clock runs forward.

    Args:
        mapping: May choose one part.

    Raises:
        MalformedFileError: If the clock does not run.
        MissingColumnError: If a needed quantity has no values.
    """
    parts, warnings = forward_parts(logged.clock.seconds)
    require_running_clock(logged, parts)
    if not parts or parts[0].size < 2:
        raise MalformedFileError(
            f"{logged.source_name}, column '{logged.clock_heading}': fewer than two rows with "
            "increasing time.",
            "A recording needs a clock that runs.",
        )
    if len(parts) > 1:
        every, parts = len(parts), _without_copies(logged, parts)
        if len(parts) < every:
            warnings += ("rows that repeat an earlier part of the file word for word left out",)
    numbered = list(enumerate(parts, 1))
    if len(parts) > 1:
        lines = ", ".join(str(logged.line_numbers[rows[0]]) for rows in parts)
        warnings += (
            f"the clock starts anew: {len(parts)} parts, from lines {lines}; no leg crosses them",
        )
        if mapping is not None and mapping.part is not None:
            numbered = [pair for pair in numbered if pair[0] == mapping.part]
    if not numbered:
        raise MalformedFileError(
            f"{logged.source_name} has {len(parts)} parts, but part {mapping and mapping.part} is "
            "asked for.",
            "Correct 'part' in the mapping file.",
        )
    warnings = (*logged.warnings, *warnings)
    only = len(parts) == 1
    of_parts = [warnings, *(() for _ in numbered[1:])]
    return tuple(
        _recording(logged, rows, number, of_file, noted, only=only)
        for (number, rows), of_file in zip(numbered, of_parts, strict=True)
    )


def _left_alone(table: RawTable, choices: tuple[ColumnChoice, ...]) -> Iterator[str]:
    """Name the columns that nothing else replaces and whose unit is not read."""
    known = {choice.quantity for choice in choices}
    for quantity, headings in unread_units(table).items():
        if quantity not in known:
            yield f"'{headings[0]}' is not used: its unit is not known"


def _without_copies(logged: Logged, parts: tuple[Indices, ...]) -> tuple[Indices, ...]:
    """Leave out a part that repeats an earlier one word for word."""
    kept: list[Indices] = []
    columns = [logged.clock.seconds, *logged.values.values()]
    for rows in parts:
        copies = (
            other.size == rows.size
            and all(np.array_equal(c[other], c[rows], equal_nan=True) for c in columns)
            for other in kept
        )
        if not any(copies):
            kept.append(rows)
    return tuple(kept)


def _recording(
    logged: Logged,
    rows: Indices,
    number: int,
    known_warnings: tuple[str, ...],
    noted: Noted,
    *,
    only: bool,
) -> Recording:
    """Settle the channels of one part."""
    lines = _taken(logged.line_numbers, rows)
    seconds = _taken(logged.clock.seconds, rows)
    t_s = seconds - seconds[0]
    warnings = list(known_warnings)
    channels: dict[str, Floats] = {}
    resolution: dict[str, float] = {}
    used = [c for c in logged.choices if c.quantity in LIMITS and c.index in logged.values]
    for choice in used:
        column = _taken(logged.values[choice.index], rows)
        if only:  # a long log is not held twice
            del logged.values[choice.index]
        channels[choice.quantity] = believable(choice, column, lines, warnings)
        resolution[choice.quantity] = step_of(choice, column)
    clashes = noted_channels(logged.source_name, channels, resolution, noted)
    warnings += clashes if number == 1 or known_warnings else []
    kind = settle_temperature(channels, resolution)
    settle_altitude(channels, resolution, warnings)
    north = "true" if settle_ground(t_s, channels, resolution, warnings) else ""
    if number == 1 or known_warnings:
        warnings.extend(assumptions(used))
    name = logged.source_name
    with warned_of(warnings):
        require_essentials(logged, logged.choices, channels, noted.quantities)
        keep, channels, rate_warnings = at_common_rows(t_s, channels)
        if not keep.all():
            kept = np.flatnonzero(keep)
            t_s, lines = t_s[kept], lines[kept]
        still = stood_still(t_s, channels)
        channels, still_warnings = without_frozen(name, t_s, channels, resolution, lines)
        doubts = contradictions(name, t_s, channels, logged.choices, resolution)
    warnings.extend(doubts)
    taken = settle_noted_temperature(name, channels, resolution, noted)
    start = float(t_s[0])
    return Recording(
        source_name=logged.source_name,
        sha256=logged.sha256,
        start_utc=_start(logged.clock.zero, float(seconds[0]) + start),
        t_s=t_s - start if start else t_s,
        channels=channels,
        temperature_kind=kind,
        track_reference=north or logged.track_reference,
        resolution=resolution,
        columns=logged.choices,
        warnings=(*warnings, *rate_warnings, *still_warnings),
        line_numbers=lines,
        part=number,
        noted=taken,
        still={name: words for name, words in still.items() if name in channels},
    )


def _taken(column: Column, rows: Indices) -> Column:
    """Take rows out of a column, without a copy where they follow each other."""
    first, last = int(rows[0]), int(rows[-1])
    return column[first : last + 1] if last - first + 1 == rows.size else column[rows]


def _start(zero: datetime | None, seconds: float) -> datetime | None:
    """Return the instant of the first sample, None if the clock has no believable date."""
    if zero is None or not abs(seconds) < _LATEST_S:
        return None
    return zero + timedelta(seconds=seconds)
