"""How the reduction of a flight is printed."""

from __future__ import annotations

import math
import shlex
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from fleetcal.cli.failure import message_line
from fleetcal.cli.options import program_words
from fleetcal.cli.output import Column, View, text_table
from fleetcal.records import ORDINARY_FLIGHT
from fleetcal.wording import counted

if TYPE_CHECKING:
    from fleetcal.services.flights.reduce_folder import FolderReduction
    from fleetcal.services.flights.reduction import Reduction, RefusedRun
    from fleetcal.services.flights.run_lines import RunLine


_LEG_COLUMNS = [
    Column("run"),
    Column("leg"),
    Column("start_s", 0),
    Column("stop_s", 0),
    Column("vic_kt", 1),
    Column("pressure_altitude_ft", 0),
    Column("oat_degc", 1),
    Column("ground_speed_kt", 1),
    Column("track_deg", 0),
    Column("tas_kt", 1),
    Column("residual_kt", 2, sign=True),
]

_WIND_COLUMNS = [
    Column("run"),
    Column("leg_count"),
    Column("vic_kt", 1),
    Column("pressure_altitude_ft", 0),
    Column("oat_degc", 1),
    Column("tas_kt", 1),
    Column("tas_scale", 4),
    Column("wind_speed_kt", 1),
    Column("wind_from_deg", 0),
    Column("residual_kt", 2),
]

_ERROR_COLUMNS = [
    Column("run"),
    Column("vic_kt", 1),
    Column("weight_kg", 0),
    Column("kappa", 4, sign=True),
    Column("dvpc_kt", 2, sign=True),
    Column("U95_as_read_kt", 2),
    Column("u_dvpc_kt", 2),
    Column("U95_dvpc_kt", 2),
    Column("dhpc_ft", 0, sign=True),
    Column("u_dhpc_ft", 0),
    Column("U95_dhpc_ft", 0),
    Column("accepted"),
]


def _head(result: Reduction) -> Iterator[str]:
    who = result.airframe or "no airframe named"
    when = result.flown_on or "no date"
    weight = f", {_weights(result)}" if result.weight_kg is not None else ""
    yield f"{result.source}: {who}, {when}, flaps {result.flap_setting}{weight}"
    if result.known_already:
        return
    yield _found(result)
    airspeed = (result.airspeed_from or "nothing").replace("_", " ")
    yield f"airspeed from {airspeed}; {_north(result.track_reference)}"
    if result.choices:
        yield f"by hand: {'; '.join(result.choices)}"


def _weights(result: Reduction) -> str:
    found = [run.weight_kg for run in result.runs if math.isfinite(run.weight_kg)]
    if found and max(found) - min(found) >= 0.5:
        return f"{max(found):.0f} to {min(found):.0f} kg"
    return f"{result.weight_kg:.0f} kg"


def _found(result: Reduction) -> str:
    if result.technique == ORDINARY_FLIGHT:
        speeds = ", ".join(f"{run.vic_kt:.0f}" for run in result.runs)
        return f"an ordinary flight, solved without legs at {speeds} kt"
    if not result.legs:
        return f"{counted(len(result.runs), 'manoeuvre')} solved sample by sample"
    solved = f"{counted(len(result.runs), 'run')} solved"
    if result.source_kind == "leg_sheet":
        return f"{counted(result.legs_found or 0, 'leg')} written by hand, {solved}"
    return f"{counted(result.legs_found or 0, 'steady leg')}, {solved}"


def _north(reference: str) -> str:
    if reference == "unknown":
        return "tracks and winds count from the log's own north (true or magnetic not stated)"
    return f"tracks and winds count from {reference} north"


def _tables(result: Reduction) -> Iterator[str]:
    if not result.runs:
        return
    if result.legs:
        yield from ("", "Legs")
        yield from text_table(result.legs, _LEG_COLUMNS, units_below=True)
    turned = Column("load_factor", 2)  # where there are no legs to count
    wind = [turned if c.name == "leg_count" and not result.legs else c for c in _WIND_COLUMNS]
    yield from ("", "Wind and true airspeed")
    yield from text_table(result.runs, wind, units_below=True)
    yield from ("", "Position error; corrections are added to the reading")
    yield from text_table(result.runs, _ERROR_COLUMNS, units_below=True)


def _foot(result: Reduction) -> Iterator[str]:
    if result.known_already:
        points = counted(result.points_known, "point")
        yield (
            f"Nothing was added: sortie {result.sortie_id} has this content already, with {points}."
        )
        yield from _changed_options(result)
        yield from result.notes
        return
    yield f"u is one standard uncertainty; U95 reaches 95 %, {_freedom(result.runs)}."
    yield from _as_read_words(result.runs)
    for run in result.runs:
        if not run.accepted:
            yield f"Run {run.run} is kept but not accepted: {run.reason}."
    yield from result.notes
    if result.yardstick:
        yield result.yardstick
    if result.pitot:
        yield result.pitot
    yield from _refused(result.refused)
    if result.figure:
        yield f"Figure written to {result.figure}."
    yield f"Stored as sortie {result.sortie_id}." if result.stored else "Preview: nothing stored."


def _changed_options(result: Reduction) -> Iterator[str]:
    """Say what is given otherwise than it is stored, and how it is stored as it is given."""
    if not result.asked_otherwise:
        return
    yield "What is stored differs from what you ask now:"
    yield from text_table(
        result.asked_otherwise, [Column("option"), Column("stored"), Column("given")]
    )
    if result.again_words:
        command = shlex.join([*program_words(), *result.again_words])
        yield f"To store it as you ask now: {command}"
        yield "Without --replace that shows what would change."
    if any(not other.words for other in result.asked_otherwise):
        yield "A stored note is not changed."


def _freedom(runs: Sequence[RunLine]) -> str:
    """Say by what factor, and how well the part that rests on scatter is known."""
    factor = _range([run.U95_kappa / run.u_kappa for run in runs], 2)
    freedoms = [run.scatter_degrees_of_freedom for run in runs]
    found = [freedom for freedom in freedoms if freedom is not None]
    known = f"; scatter is estimated with {_range(found, 0)} degrees of freedom" if found else ""
    return f"{factor} times u by Student's t{known}"


def _range(values: Sequence[float], digits: int) -> str:
    low, high = f"{min(values):.{digits}f}", f"{max(values):.{digits}f}"
    return low if low == high else f"{low} to {high}"


def _as_read_words(runs: Sequence[RunLine]) -> Iterator[str]:
    """Say what the indicator has to do with it, once, where it was never on a bench."""
    unchecked = [t for run in runs for t in run.terms if t.name == "airspeed indicator"]
    if not any(t.note.endswith("no bench check") for t in unchecked):
        return
    read = _range([run.U95_as_read_kt for run in runs if run.U95_as_read_kt is not None], 1)
    port = _range([run.U95_dvpc_kt for run in runs], 1)
    yield (
        f"As your indicator reads it, the correction dVpc is right to {read} kt; the port's share "
        f"of it is known to {port} kt only, because the indicator was never on a bench."
    )


def _refused(refused: Sequence[RefusedRun]) -> Iterator[str]:
    """Yield one sentence for all runs that were refused for the same reason."""
    alike: dict[tuple[int | None, str], list[int]] = {}
    for run in refused:
        alike.setdefault((run.leg_count, run.reason), []).append(run.run)
    for (legs, reason), numbers in alike.items():
        one = len(numbers) == 1
        each = "" if one else " each"
        size = f" ({counted(legs, 'leg')}{each})" if legs else ""
        which = ", ".join(str(number) for number in numbers)
        yield (
            f"{'Run' if one else 'Runs'} {which}{size} {'was' if one else 'were'} not solved: "
            f"{reason}."
        )


REDUCTION: View[Reduction] = View(
    kind="reduction",
    rows="runs",
    columns=[],
    head=_head,
    body=_tables,
    foot=_foot,
    cautioned=True,
    tells=lambda result: bool(result.runs),
)

#: The same with its legs, found or left out, where rows are printed for programs.
LEGS: View[Reduction] = replace(REDUCTION, rows="every_leg")


def _folder_foot(result: FolderReduction) -> Iterator[str]:
    total = len(result.files)
    yield (
        f"{counted(total, 'file')}: {result.stored} stored, {result.known} known already, "
        f"{result.failed} failed."
    )
    for line in result.files:
        if line.error:
            hint = f" ({message_line(line.hint)})" if line.hint else ""
            named = line.error if line.file in line.error else f"{line.file}: {line.error}"
            yield f"{message_line(named)}{hint}"


FOLDER: View[FolderReduction] = View(
    kind="folder_reduction",
    rows="files",
    columns=[
        Column("file"),
        Column("airframe"),
        Column("outcome"),
        Column("runs"),
        Column("not_accepted"),
        Column("sortie_id"),
    ],
    foot=_folder_foot,
    cautioned=True,
    tells=lambda result: result.stored > 0,
)
