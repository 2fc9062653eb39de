"""How level flight at a known power is printed."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from fleetcal.cli.output import ALWAYS, DETAIL, SPARE, Column, View, text_table
from fleetcal.wording import counted, there_are

if TYPE_CHECKING:
    from fleetcal.services.performance.cruise_table import CruiseTable
    from fleetcal.services.performance.note_power import CruiseList
    from fleetcal.services.performance.power_from_log import LoggedPowers


def _list_foot(found: CruiseList) -> Iterator[str]:
    for run in found.runs:
        if run.why_not:
            yield f"{run.point} is left out: {run.why_not}."


CRUISE_RUNS: View[CruiseList] = View(
    kind="cruise_runs",
    rows="runs",
    columns=[
        Column("point", importance=ALWAYS),
        Column("airframe", importance=ALWAYS),
        Column("flown_on"),
        Column("power_pct", 1),
        Column("pressure_altitude_ft", 0, heading="pressure altitude"),
        Column("tas_kt", 1),
        Column("u_power_pct", 1),
        Column("basis", wraps=True),
        Column("power_now_pct", 1, importance=SPARE),
        Column("viw_kt", 1, importance=SPARE),
        Column("piw_pct", 1, importance=SPARE),
    ],
    answer=lambda found: [
        f"{there_are(len(found.runs), 'run')} with a power, in % of rated power."
    ],
    foot=_list_foot,
)


def _logged_foot(found: LoggedPowers) -> Iterator[str]:
    for run in found.runs:
        if run.why_not:
            yield f"{run.point} is not noted: {run.why_not}."
    yield f"New or changed: {found.changed}."


LOGGED_POWERS: View[LoggedPowers] = View(
    kind="logged_powers",
    rows="runs",
    columns=[Column("point"), Column("power_pct", 1), Column("change_pct", 1)],
    answer=lambda found: [
        f"The power of {counted(len(found.runs), 'run')} is taken from the column "
        f"{found.column!r} of {found.source}."
    ],
    foot=_logged_foot,
)


def _table_answer(found: CruiseTable) -> Iterator[str]:
    from fleetcal.services.performance.answer_words import cruise_answer

    yield cruise_answer(found)


def _table_head(found: CruiseTable) -> Iterator[str]:
    whose = (
        f"{found.airframe} alone" if found.airframe else counted(len(found.airframes), "airframe")
    )
    if not found.airframe and not found.airframes:
        whose = "pooled"
    yield (
        f"{found.type}, {found.pairing}, flaps {found.flap_setting}: {whose}; runs: "
        f"{len(found.runs)}, sorties: {found.sorties}"
    )
    yield "True airspeed in level flight, standard air, at the weight of the line; 95 % bands."
    if any(line.handbook for line in found.lines):
        yield "Difference: the handbook minus the pooled curve, with the 95 % band of the curve."


def _table_foot(found: CruiseTable) -> Iterator[str]:
    for line in found.lines:
        if line.note:
            yield (
                f"{line.power_pct:.0f} % at {line.pressure_altitude_ft:.0f} ft"
                f"{f' ({line.handbook})' if line.handbook else ''}: {line.note}."
            )
    if found.airframes:
        yield f"Airframes against the others, at {found.judged_at}:"
        yield from text_table(
            found.airframes,
            [
                Column("airframe"),
                Column("runs"),
                Column("departure_kt", 1, sign=True),
                Column("verdict"),
                Column("p_value", 3, chance=True, importance=DETAIL),
                Column("adjusted_p_value", 3, chance=True, importance=DETAIL),
            ],
        )
    for note in found.notes:
        yield f"Note: {note}."
    yield f"Flown at VIW {found.slowest_viw_kt:.0f} to {found.fastest_viw_kt:.0f} kt."
    yield (
        "The power is as good as the display or chart it came from: if all of them err alike, so "
        "do these speeds (by a third as much, or somewhat more), and no band shows that."
    )


def _table_details(found: CruiseTable) -> Iterator[str]:
    yield (
        "Model: power over the cube of airspeed, both brought to sea level and reference weight, "
        f"is {'a line' if found.order else 'constant'} over the fourth power of 1/airspeed; "
        f"variances times {found.phi:.2f}."
    )


CRUISE_TABLE: View[CruiseTable] = View(
    kind="cruise_table",
    rows="lines",
    columns=[
        Column("handbook", once=True),
        Column("power_pct", 0, importance=ALWAYS),
        Column("pressure_altitude_ft", 0, heading="pressure altitude", importance=ALWAYS),
        Column("weight_kg", 0, once=True),
        Column("tas_kt", 1, importance=ALWAYS),
        Column("mean_low_kt", 1, to="mean_high_kt", heading="the group's mean"),
        Column("next_low_kt", 1, to="next_high_kt", heading="another aircraft of the group"),
        Column("difference_kt", 1, sign=True),
        Column("difference_low_kt", 1, sign=True, to="difference_high_kt", heading="95 %"),
        Column("handbook_tas_kt", 1, importance=SPARE),
    ],
    answer=_table_answer,
    head=_table_head,
    foot=_table_foot,
    details=_table_details,
    cautioned=True,
    tells_of="cruise",
)
