"""What stands behind the answer of a flight, for whoever asks for details."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from fleetcal.cli.output import Column, text_table

if TYPE_CHECKING:
    from fleetcal.services.flights.reduction import Reduction
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


def flight_details_lines(result: Reduction) -> Iterator[str]:
    """Yield legs, winds, position errors, and what was supposed."""
    if result.known_already or not result.runs:
        return
    airspeed = (result.airspeed_from or "nothing").replace("_", " ")
    yield f"Airspeed from {airspeed}; {_north(result.track_reference)}."
    from fleetcal.services.flights.flight_sentences import MOST_REFUSALS, refused_sentences

    refused = refused_sentences(result)
    if len(refused) > MOST_REFUSALS:
        yield from refused
    if result.legs:
        yield from ("", "Legs")
        yield from text_table(result.legs, _LEG_COLUMNS)
    turned = Column("load_factor", 2)  # where there are no legs to count
    wind = [turned if c.name == "leg_count" and not result.legs else c for c in _WIND_COLUMNS]
    yield from ("", "Wind and true airspeed")
    yield from text_table(result.runs, wind)
    yield from ("", "Position error; corrections are added to the reading")
    yield from text_table(result.runs, _ERROR_COLUMNS)
    yield ""
    yield f"u is one standard uncertainty; U95 reaches 95 %, {_freedom(result.runs)}."
    yield from _as_read_words(result.runs)
    yield from result.notes
    if result.yardstick:
        yield result.yardstick
    if result.pitot:
        yield result.pitot


def _north(reference: str) -> str:
    if reference == "unknown":
        return "tracks and winds count from the log's own north (true or magnetic not stated)"
    return f"tracks and winds count from {reference} north"


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
