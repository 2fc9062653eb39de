"""A list of legs that somebody edited, and the runs that it makes of a recording."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import Any, Final

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.errors import MalformedFileError, MissingColumnError
from fleetcal.flightlog import LegSettings
from fleetcal.services.flights.cut_legs import Recorded, cut_leg
from fleetcal.services.flights.flown_leg import FlownLeg
from fleetcal.services.flights.read_flight import GroupedLegs
from fleetcal.services.flights.run_lines import LEFT_OUT, LegLine
from fleetcal.services.flights.turns_flown import turns_between
from fleetcal.services.plain_table import PlainTable, read_plain_table
from fleetcal.services.point_cells import FileRow
from fleetcal.services.table_words import columns_named
from fleetcal.units import from_si

_NEEDED: Final = ("run", "start_s", "stop_s")
_COLUMNS: Final = columns_named(LegLine.LISTED)
_SLACK_S: Final = 1e-6  # times come back from text


@dataclass(frozen=True)
class ListedLegs:
    """Runs as a list of legs has them.

    Attributes:
        runs: By number.
        warnings: Legs that are not steady, and how the list was read if in no usual form.
        document: Name, content and digest of the list, to be kept with the sortie.
    """

    runs: tuple[GroupedLegs, ...]
    warnings: tuple[str, ...]
    document: dict[str, Any]


@dataclass(frozen=True)
class _Span:
    line: FileRow
    run: int
    start: int
    stop: int


def listed_legs(
    path: Path, recorded: Recorded, settings: LegSettings, found: Sequence[FlownLeg]
) -> ListedLegs:
    """Read a list of legs and cut them out of a recording.

    Args:
        path: CSV with columns run, start_s and stop_s, as legs are listed; other columns of that
            list may stand and are not looked at, but a row whose outcome is ``left out`` counts for
            nothing.
        settings: For the fewest samples of a leg, and for what counts as steady.
        found: Legs that were found in the recording.

    Raises:
        DataError: If the file is wrong, a leg lies outside the log or has too few samples, or two
            legs overlap.
    """
    understood: list[str] = []
    table = read_plain_table(path, _COLUMNS, understood.append)
    missing = [name for name in _NEEDED if name not in table.headings]
    if missing:
        raise MissingColumnError(
            f"{table.name}: no column {' or '.join(missing)}",
            "a list to start from is printed by --format csv --list legs",
        )
    spans = sorted(_spans(table, recorded), key=lambda span: span.start)
    for before, after in pairwise(spans):
        if after.start < before.stop:
            raise after.line.wrong(
                f"the leg overlaps the one of line {before.line.line}", "give each sample one leg"
            )
    legs: dict[int, list[FlownLeg]] = {}
    warnings = list(understood)
    for span in spans:
        legs.setdefault(span.run, []).append(_leg(span, recorded, settings))
        doubt = _unsteady(span, recorded, settings)
        warnings += [f"{table.name}, line {span.line.line}: {doubt}"] if doubt else []
    runs = tuple(
        GroupedLegs(
            legs=tuple(legs[number]),
            refusal="",
            flap_setting=None,
            number=number,
            turns=turns_between(recorded, legs[number], found),
        )
        for number in sorted(legs)
    )
    return ListedLegs(runs, tuple(warnings), _document(table, runs))


def _spans(table: PlainTable, recorded: Recorded) -> list[_Span]:
    spans = []
    for line in table.rows:
        if line.text("outcome") == LEFT_OUT:
            continue
        start_s, stop_s = line.required("start_s"), line.required("stop_s")
        number = line.integer("run")
        if number is None or number < 1:
            raise line.wrong("no number of a run", "number the runs from 1", "run")
        last = float(recorded.t_s[-1])
        if not -_SLACK_S <= start_s < stop_s <= last + 1.0:
            raise line.wrong(
                f"a leg from {start_s:g} to {stop_s:g} s is not within the {last:.0f} s of "
                f"{recorded.source_name}",
                "count seconds from the first sample, start before stop",
            )
        start = int(np.searchsorted(recorded.t_s, start_s - _SLACK_S))
        stop = int(np.searchsorted(recorded.t_s, stop_s + _SLACK_S))
        spans.append(_Span(line, number, start, stop))
    if not spans:
        raise MalformedFileError(f"{table.name}: every leg is left out", "leave some legs in")
    return spans


def _leg(span: _Span, recorded: Recorded, settings: LegSettings) -> FlownLeg:
    few = f"fewer than {settings.fewest_samples} samples"
    if span.stop - span.start < settings.fewest_samples:
        raise span.line.wrong(few, "make the leg longer")
    leg = cut_leg(recorded, span.start, span.stop)
    if leg.samples < settings.fewest_samples:
        raise span.line.wrong(f"{few} with all readings", "make the leg longer")
    return leg


def _unsteady(span: _Span, recorded: Recorded, settings: LegSettings) -> str:
    """Say what drifts over a leg by more than would be taken for steady."""
    part = slice(span.start, span.stop)
    t = recorded.t_s[part]
    found = (
        ("airspeed", recorded.airspeed_mps, settings.airspeed_drift_mps, "kt", "kt"),
        ("altitude", recorded.altitude_m, settings.altitude_drift_m, "ft", "ft"),
        ("track", recorded.track_rad, settings.track_drift_rad, "deg", "degrees"),
    )
    excesses = [
        f"{name} drifts by {abs(from_si(drift, unit)):.0f} {word}"
        for name, values, limit, unit, word in found
        if abs(drift := _drift(t, values[part], unit == "deg")) > limit
    ]
    return f"not a steady leg: {', '.join(excesses)}" if excesses else ""


def _drift(t_s: Array, values: Array, turning: bool) -> float:
    finite = np.isfinite(values)
    t, known = t_s[finite], values[finite]
    known = np.unwrap(known) if turning else known
    slope = np.polyfit(t - t.mean(), known, 1)[0]
    return float(slope * (t[-1] - t[0]))


def _document(table: PlainTable, runs: tuple[GroupedLegs, ...]) -> dict[str, Any]:
    return {
        "name": table.name,
        "sha256": table.sha256,
        "legs": [
            {"run": run.number, "start_s": leg.start_s, "stop_s": leg.stop_s}
            for run in runs
            for leg in run.legs
        ],
    }
