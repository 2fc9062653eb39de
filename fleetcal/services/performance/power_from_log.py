"""The power of runs from a column of the log that they were reduced from."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from contextlib import nullcontext
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Final

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.errors import DataError, MissingColumnError, NoRunError
from fleetcal.flightlog import (
    any_table,
    is_igc,
    join_parts,
    read_mapping,
    recordings_from_table,
)
from fleetcal.flightlog.cells import NumberColumn, read_columns
from fleetcal.records import ACTUAL, STANDARD_AIR, Leg, Power, columns_of
from fleetcal.services.kept_file import kept_file
from fleetcal.store import (
    PointFilter,
    PowerNote,
    Store,
    StoredPoint,
    Touching,
    find_source,
    list_logs,
    note_powers,
    runs_of_rows,
    select_legs,
    select_points,
    sorties_of_source,
)

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

#: Largest standard deviation of the power within a run, % of rated power: common practice.
LARGEST_CHANGE_PCT: Final = 3.0
_LOWEST_PCT, _HIGHEST_PCT = columns_of(Power)["power_pct"].limits


@dataclass(frozen=True)
class LogColumn:
    """Which column holds the power, and how good it is.

    Attributes:
        heading: As it stands in the file; the only one that speaks of percent power when None.
        mapping: As it was given when the log was reduced.
    """

    heading: str | None
    u_power_pct: float
    standard_air: bool = False
    mapping: Path | None = None


@dataclass(frozen=True)
class LoggedPower:
    """The power found for one run; not noted, and why, if `why_not` is filled."""

    point: int
    power_pct: float | None
    change_pct: float | None
    why_not: str


@dataclass(frozen=True)
class LoggedPowers:
    """What a log says of the power of its runs."""

    source: str
    column: str
    runs: tuple[LoggedPower, ...]
    changed: int


def note_powers_log(store: Store, path: Path, column: LogColumn) -> LoggedPowers:
    """Note the mean power over the legs of each run of a log that was reduced before.

    Args:
        path: The very file that was reduced, or the name of a log that is kept.

    Raises:
        DataError: If the log cannot be read, was not reduced, or has no such column.
    """
    if path.is_file():
        return _noted_from(store, path, column)
    with store.reading() as session:
        is_kept = any(str(path) == log.file for log in list_logs(session))
    with kept_file(store, str(path)) if is_kept else nullcontext(path) as file:
        return _noted_from(store, file, column)


def _noted_from(store: Store, path: Path, column: LogColumn) -> LoggedPowers:
    if is_igc(path):
        raise DataError(f"{path.name}: a record of this format holds no power", "note it by hand")
    column_mapping = read_mapping(column.mapping) if column.mapping is not None else None
    table = any_table(path, column_mapping)
    index = _place(table.source_name, list(table.headings), column.heading)
    heading = str(table.headings[index])
    recording = join_parts(recordings_from_table(table, column_mapping))
    cells = read_columns(table, {index: NumberColumn(heading)})[0][index]
    rows = np.searchsorted(table.line_numbers, recording.line_numbers)
    power = cells[rows]
    basis = STANDARD_AIR if column.standard_air else ACTUAL

    def work(session: Session) -> LoggedPowers:
        source = find_source(session, recording.sha256)
        flown = [] if source is None else sorties_of_source(session, source)
        mine = {sortie.sortie_id for sortie in flown}
        points = [
            point
            for tag in sorted({sortie.airframe for sortie in flown})
            for point in select_points(session, PointFilter(airframe=tag))
            if point.sortie_id in mine
        ]
        if not points:
            raise NoRunError(
                f"{path.name}: no run of this file is in the store", "reduce it before"
            )
        legs = select_legs(session)
        runs = _runs(points, legs)
        found = tuple(_found(p, runs[p.point_id], recording.t_s, power) for p in points)
        notes = [
            PowerNote(
                point_id=f.point,
                power_pct=f.power_pct,
                u_power_pct=column.u_power_pct,
                basis=basis,
                origin="log",
                note=heading,
            )
            for f in found
            if f.power_pct is not None and not f.why_not
        ]
        return LoggedPowers(path.name, heading, found, note_powers(session, notes))

    return store.write(work, Touching(files=(recording.sha256,)))


def _place(name: str, headings: list[str], named_heading: str | None) -> int:
    """Return the place of the column of power."""
    shown = [heading.strip().casefold() for heading in headings]
    if named_heading is not None:
        if named_heading.strip().casefold() in shown:
            return shown.index(named_heading.strip().casefold())
        raise MissingColumnError(
            f"{name}: there is no column {named_heading!r}", "'fleetcal columns' shows the headings"
        )
    likely = [i for i, text in enumerate(shown) if "power" in text and _in_percent(text)]
    if len(likely) == 1:
        return likely[0]
    what = "several columns name it" if likely else "no column names it"
    raise MissingColumnError(f"{name}: {what} as percent power", "name one with --column")


def _in_percent(text: str) -> bool:
    return "%" in text or "percent" in text or "pct" in text


def _runs(
    points: Sequence[StoredPoint], legs: Mapping[int, list[Leg]]
) -> dict[int, list[Leg] | None]:
    """Return the legs of each point's run; None where they do not tell it."""
    found: dict[int, list[Leg] | None] = {}
    for sortie in {point.sortie_id for point in points}:
        mine = [point for point in points if point.sortie_id == sortie]
        own = legs.get(sortie, [])
        numbers = runs_of_rows(mine, own)
        for i, point in enumerate(mine):
            run = [leg for leg in own if numbers and leg.run_number == numbers[i]]
            found[point.point_id] = None if numbers is None else run
    return found


def _found(point: StoredPoint, legs: list[Leg] | None, t_s: Array, power: Array) -> LoggedPower:
    if legs is None:
        why = "the stored legs do not show which run it is; reduce the log again"
        return LoggedPower(point.point_id, None, None, why)
    spans = [
        (leg.start_s, leg.stop_s)
        for leg in legs
        if leg.start_s is not None and leg.stop_s is not None
    ]
    inside = np.zeros(t_s.shape, dtype=bool)
    for start, stop in spans:
        inside |= (t_s >= start) & (t_s <= stop)
    values = power[inside]
    values = values[np.isfinite(values)]
    if not len(values):
        return LoggedPower(point.point_id, None, None, "no power is recorded in its legs")
    mean, change = float(values.mean()), float(values.std())
    why = ""
    if not _LOWEST_PCT <= mean <= _HIGHEST_PCT:
        why = f"{mean:.4g} is not a power in percent"
    elif change > LARGEST_CHANGE_PCT:
        why = f"the power was not held: it changed by {change:.1f} % (standard deviation)"
    return LoggedPower(point.point_id, mean, change, why)
