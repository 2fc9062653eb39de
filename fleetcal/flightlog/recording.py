"""A recorded flight as one tidy set of channels in SI units over one clock."""

from __future__ import annotations

import os
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Final

import numpy as np

from fleetcal.errors import MalformedFileError
from fleetcal.flightlog.altimeter import pressure_altitude_from_setting
from fleetcal.flightlog.cells import Floats, read_numbers
from fleetcal.flightlog.clock import choose_clock, read_clock
from fleetcal.flightlog.columns import ColumnChoice, understand_columns
from fleetcal.flightlog.essentials import require_essentials
from fleetcal.flightlog.headings import take_apart
from fleetcal.flightlog.raw_table import RawTable, read_table
from fleetcal.flightlog.resolution import smallest_step
from fleetcal.flightlog.time_order import forward_rows
from fleetcal.units import to_si

# lowest and highest believable value in SI; what lies outside counts as missing
LIMITS: Final[dict[str, tuple[float, float]]] = {
    "indicated_airspeed": (-5.0, 400.0),
    "true_airspeed": (-5.0, 400.0),
    "ground_speed": (-1.0, 500.0),
    "impact_pressure": (-2000.0, 60000.0),
    "static_pressure": (5000.0, 115000.0),
    "altimeter_setting": (85000.0, 110000.0),
    "pressure_altitude": (-1000.0, 20000.0),
    "baro_altitude": (-1000.0, 20000.0),
    "gps_altitude": (-1000.0, 20000.0),
    "track": (-6.9, 6.9),
    "heading": (-6.9, 6.9),
    "roll": (-3.2, 3.2),
    "vertical_speed": (-100.0, 100.0),
    "static_temperature": (180.0, 340.0),
    "total_temperature": (180.0, 340.0),
    "probe_temperature": (180.0, 340.0),
    "mach": (0.0, 1.0),
    "latitude": (-1.58, 1.58),
    "longitude": (-6.3, 6.3),
}
_LATEST_S: Final = 230 * 365.25 * 86400.0
_TEMPERATURES: Final = ("static_temperature", "total_temperature", "probe_temperature")


@dataclass(frozen=True)
class Recording:
    """A recorded flight in SI units.

    Attributes
    ----------
    source_name : str
        File name without folder.
    sha256 : str
        Of the bytes of the file.
    start_utc : datetime or None
        Instant of the first sample, aware; None if the clock has no date.
    t_s : ndarray of float, shape (n,)
        Seconds from the first sample, strictly increasing.
    channels : dict of str to ndarray of float, shape (n,)
        Quantity -> values in SI, NaN where missing; only what is in the file.
    temperature_kind : str
        What ``temperature`` is: static, total or probe (recovery unknown).
    track_reference : str
        true, magnetic or unknown, as the heading of the track says.
    resolution : dict of str to float
        Smallest step of the logged values in SI, 0 where they show none.
    columns : tuple of ColumnChoice
    warnings : tuple of str
        What was assumed or left out, for people.
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

    @property
    def sample_interval_s(self) -> float:
        """Usual time between two samples in seconds."""
        return float(np.median(np.diff(self.t_s)))


def read_recording(path: str | os.PathLike[str]) -> Recording:
    """Read a recorded flight of any dialect by what its headings say.

    Parameters
    ----------
    path : path-like

    Returns
    -------
    Recording

    Raises
    ------
    MissingColumnError
        If clock, ground speed, track, temperature, an altitude or an airspeed
        source is not in the file.
    DataError
        Its other kinds as `read_table` raises them, and `MalformedFileError`
        for more than 2 % unreadable cells in a column.
    """
    return recording_from_table(read_table(path))


def recording_from_table(table: RawTable) -> Recording:
    """Turn a table into a recording; see `read_recording`.

    Parameters
    ----------
    table : RawTable

    Returns
    -------
    Recording
    """
    choices = understand_columns(table)
    require_essentials(table, choices)
    clock = choose_clock(choices)
    assert clock is not None  # require_essentials has seen to it
    reading = read_clock(table, choices, clock)
    rows, order_warnings = forward_rows(reading.seconds)
    if rows.size < 2:
        raise MalformedFileError(
            f"{table.source_name}, column '{clock.heading}': fewer than two rows with increasing "
            "time.",
            "A recording needs a clock that runs.",
        )
    seconds = reading.seconds[rows]
    used = [choice for choice in choices if choice.quantity in LIMITS]
    numbers, cell_warnings = read_numbers(table, {c.index: c.heading for c in used})
    warnings = [*table.spoilt, *reading.warnings, *order_warnings, *cell_warnings]
    channels: dict[str, Floats] = {}
    resolution: dict[str, float] = {}
    for choice in used:
        logged = numbers[choice.index][rows]
        channels[choice.quantity] = _believable(choice, logged, table, rows, warnings)
        resolution[choice.quantity] = smallest_step(logged, choice.unit, choice.sample)
    kind = _settle_temperature(channels, resolution)
    _settle_altitude(channels, resolution, warnings)
    require_essentials(table, choices, channels)
    warnings.extend(_assumptions(used))
    return Recording(
        source_name=table.source_name,
        sha256=table.sha256,
        start_utc=_start(reading.zero, float(seconds[0])),
        t_s=seconds - seconds[0],
        channels=channels,
        temperature_kind=kind,
        track_reference=track_reference(table, choices),
        resolution=resolution,
        columns=choices,
        warnings=tuple(warnings),
    )


def _start(zero: datetime | None, seconds: float) -> datetime | None:
    """Return the instant of the first sample, None if the clock has no believable date."""
    if zero is None or not abs(seconds) < _LATEST_S:
        return None
    return zero + timedelta(seconds=seconds)


def _believable(
    choice: ColumnChoice,
    logged: Floats,
    table: RawTable,
    rows: np.ndarray[tuple[int], np.dtype[np.intp]],
    warnings: list[str],
) -> Floats:
    """Convert to SI; values that cannot be become NaN and are named."""
    values = np.asarray(to_si(logged, choice.unit), dtype=np.float64)
    low, high = LIMITS[choice.quantity]
    with np.errstate(invalid="ignore"):
        wrong = (values < low) | (values > high)
    if wrong.any():
        first = int(np.argmax(wrong))
        warnings.append(
            f"{int(wrong.sum())} values of '{choice.heading}' cannot be and count as missing, "
            f"first {logged[first]:g} in line {table.line_numbers[rows[first]]}"
        )
    return np.where(wrong, np.nan, values)


def _settle_temperature(channels: dict[str, Floats], resolution: dict[str, float]) -> str:
    """Name the best temperature ``temperature`` and return its kind."""
    present = [q for q in _TEMPERATURES if q in channels and np.isfinite(channels[q]).any()]
    if not present:
        return "probe"
    chosen = present[0]
    channels["temperature"] = channels[chosen]
    resolution["temperature"] = resolution[chosen]
    for quantity in ("static_temperature", "probe_temperature"):
        channels.pop(quantity, None)
        resolution.pop(quantity, None)
    return chosen.removesuffix("_temperature")


def _settle_altitude(
    channels: dict[str, Floats], resolution: dict[str, float], warnings: list[str]
) -> None:
    """Work out pressure altitude from an altimeter and its setting where it is not logged."""
    if (
        "pressure_altitude" in channels
        or not {"baro_altitude", "altimeter_setting"} <= channels.keys()
    ):
        return
    setting = _held(channels["altimeter_setting"])
    channels["pressure_altitude"] = pressure_altitude_from_setting(
        channels["baro_altitude"], setting
    )
    resolution["pressure_altitude"] = resolution["baro_altitude"]
    warnings.append("pressure altitude is worked out from the altimeter and its logged setting")


def _held(values: Floats) -> Floats:
    """Carry the last known value forward (and the first one back) over missing samples."""
    known = np.flatnonzero(np.isfinite(values))
    if not known.size:
        return values
    last = np.searchsorted(known, np.arange(values.size), side="right") - 1
    return values[known[np.maximum(last, 0)]]


def _assumptions(used: Iterable[ColumnChoice]) -> list[str]:
    """Say where a unit or a word was assumed."""
    found = [
        f"'{choice.heading}' states no unit; {choice.unit} is assumed"
        for choice in used
        if not choice.unit_stated
    ]
    for choice in used:
        heading = take_apart(choice.heading)
        if choice.quantity == "indicated_airspeed" and "indicated" not in heading.words:
            found.append(f"'{choice.heading}' is taken as indicated airspeed")
        if choice.quantity == "impact_pressure" and "dyn" in choice.heading.lower():
            found.append(f"'{choice.heading}' is taken as impact pressure")
    return found


def track_reference(table: RawTable, choices: tuple[ColumnChoice, ...]) -> str:
    """Tell whether tracks count from true or magnetic north, by the words of the heading.

    Parameters
    ----------
    table : RawTable
    choices : tuple of ColumnChoice

    Returns
    -------
    str
        true, magnetic or unknown.
    """
    for choice in choices:
        if choice.quantity == "track":
            heading = take_apart(choice.heading, table.units[choice.index])
            words = heading.words | {text.lower().strip("°") for text in heading.unit_texts}
            if words & {"true", "degt", "t", "deg t"}:
                return "true"
            if words & {"magnetic", "degm", "m", "deg m"}:
                return "magnetic"
    return "unknown"
