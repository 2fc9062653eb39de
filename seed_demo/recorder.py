"""Three invented recorders: what of a flight reaches the file, in which words, units and steps."""

from __future__ import annotations

import io
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

import numpy as np

from seed_demo.air import FT, ICE_POINT_K, KT, Array
from seed_demo.flight import Flight

SLOWEST_SHOWN_KT: Final = 20.0


@dataclass(frozen=True)
class Column:
    """A column of numbers: heading, unit as written, values from a flight, and the step logged."""

    heading: str
    unit: str
    values: Callable[[Flight], Array]
    step: float


@dataclass(frozen=True, kw_only=True)
class Recorder:
    """A dialect: columns after the clock, separator, and how headings and clock are written."""

    name: str
    columns: tuple[Column, ...]
    separator: str
    clock_headings: tuple[tuple[str, str], ...]
    clock: Callable[[datetime], tuple[str, ...]]
    units_row: bool
    preamble: tuple[str, ...] = ()
    declination_deg: float = 0.0


def _ias_kt(flight: Flight) -> Array:
    shown = flight.indicated_airspeed / KT
    return np.where(shown < SLOWEST_SHOWN_KT, 0.0, shown)


def _ground_speed_kt(flight: Flight) -> Array:
    return np.hypot(flight.gps_east, flight.gps_north) / KT


def _track_deg(flight: Flight) -> Array:
    return np.degrees(np.arctan2(flight.gps_east, flight.gps_north))


def _oat_degc(flight: Flight) -> Array:
    return flight.probe_temperature - ICE_POINT_K


def _altitude_ft(flight: Flight) -> Array:
    return flight.indicated_altitude / FT


FINE: Final = Recorder(
    name="fine",
    columns=(
        Column("IAS", "kt", _ias_kt, 0.1),
        Column("pressure altitude", "ft", _altitude_ft, 1.0),
        Column("OAT", "degC", _oat_degc, 0.1),
        Column("ground speed", "kt", _ground_speed_kt, 0.1),
        Column("track", "deg true", _track_deg, 0.1),
        Column("bank", "deg", lambda f: np.degrees(f.bank), 0.1),
        Column("relative humidity", "%", lambda f: 100.0 * f.humidity_shown, 1.0),
    ),
    separator=",",
    clock_headings=(("UTC date", ""), ("UTC time", "")),
    clock=lambda t: (t.strftime("%Y-%m-%d"), t.strftime("%H:%M:%S")),
    units_row=False,
)
COARSE: Final = Recorder(
    name="coarse",
    columns=(
        Column("ground speed", "kt", _ground_speed_kt, 1.0),
        Column("ground track true", "deg", _track_deg, 1.0),
        Column("indicated airspeed", "kt", _ias_kt, 1.0),
        Column("pressure altitude", "ft", _altitude_ft, 10.0),
        Column("outside air temperature", "degC", _oat_degc, 1.0),
    ),
    separator=";",
    clock_headings=(("date and time UTC", "ISO 8601"),),
    clock=lambda t: (t.strftime("%Y-%m-%dT%H:%M:%SZ"),),
    units_row=True,
    preamble=("recorder of an invented aircraft", "all values invented"),
)
METRIC: Final = Recorder(
    name="metric",
    columns=(
        Column("pressure altitude", "m", lambda f: f.indicated_altitude, 1.0),
        Column("indicated airspeed", "km/h", lambda f: _ias_kt(f) * KT * 3.6, 0.5),
        Column("outside air temperature", "degC", _oat_degc, 0.5),
        Column("ground speed", "km/h", lambda f: _ground_speed_kt(f) * KT * 3.6, 0.1),
        Column("magnetic track", "deg", _track_deg, 1.0),
    ),
    separator=",",
    clock_headings=(("date UTC", ""), ("seconds of day UTC", "s")),
    clock=lambda t: (
        t.strftime("%Y-%m-%d"),
        str(t.hour * 3600 + t.minute * 60 + t.second),
    ),
    units_row=False,
    declination_deg=3.0,
)
RECORDERS: Final = (FINE, COARSE, METRIC)


def decimals(step: float) -> int:
    """Return how many decimals a logged step needs."""
    return 0 if step == round(step) else 1


def logged_values(column: Column, flight: Flight, declination_deg: float) -> Array:
    """Return the values (n,) of a column as logged, in its own unit and rounded to its step."""
    values = column.values(flight)
    if "track" in column.heading:
        turned = np.round((values - declination_deg) / column.step) * column.step
        return np.round(turned, 6) % 360.0
    return np.round(values / column.step) * column.step + 0.0


def _heading_rows(recorder: Recorder) -> list[str]:
    named = [*recorder.clock_headings, *((c.heading, c.unit) for c in recorder.columns)]
    if recorder.units_row:
        return [
            recorder.separator.join(name for name, _ in named),
            recorder.separator.join(unit for _, unit in named),
        ]
    return [recorder.separator.join(f"{n} ({u})" if u else n for n, u in named)]


def log_text(recorder: Recorder, flight: Flight, start: datetime) -> str:
    """Return the log of a flight, as the recorder writes it.

    Args:
        start: Of the first line, UTC.

    Returns:
        Lines ended by a newline.
    """
    texts: list[list[str]] = []
    for column in recorder.columns:
        values = logged_values(column, flight, recorder.declination_deg)
        shape = f"%.{decimals(column.step)}f"
        texts.append([shape % value for value in values.tolist()])
    out = io.StringIO()
    for line in (*recorder.preamble, *_heading_rows(recorder)):
        out.write(line + "\n")
    for second, cells in enumerate(zip(*texts, strict=True)):
        clock = recorder.clock(start + timedelta(seconds=second))
        out.write(recorder.separator.join((*clock, *cells)) + "\n")
    return out.getvalue()
