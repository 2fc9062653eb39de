"""The figure of one flight, from what was found and solved in it."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from typing import Final, TypeAlias

import numpy as np

from fleetcal.atomic_write import write_atomically
from fleetcal.errors import DataError
from fleetcal.publish.flight_figure import flight_figure
from fleetcal.publish.flight_picture import FlightHistory, FlightPicture, PicturedLeg, PicturedRun
from fleetcal.publish.flight_report import flight_report_html
from fleetcal.publish.flight_report_pdf import flight_report_pdf
from fleetcal.services.flights.cut_legs import Recorded
from fleetcal.services.flights.flight_file import FlightFile
from fleetcal.services.flights.flight_report import flight_report
from fleetcal.services.flights.parts_flown import parts_of
from fleetcal.services.flights.prepare_flight import PreparedFlight
from fleetcal.services.flights.reduction import Reduction
from fleetcal.services.flights.run_lines import LEFT_OUT, LegLine, RunLine
from fleetcal.units import from_si

#: Where a figure or a report goes: into a file, or to whoever draws it.
FlightOutlet: TypeAlias = FlightFile | Callable[[FlightPicture], object]
#: Endings of a figure alone, and of a report.
_FIGURES: Final = ("svg", "png")
_REPORTS: Final = ("html", "pdf")


def draw_reduction(
    prepared: PreparedFlight, result: Reduction, file: FlightOutlet | None
) -> Reduction:
    """Draw a reduction into a file, write its report, or hand on what a figure shows.

    Args:
        result: Of this flight.
        file: Nothing is written when None; the ending tells what it becomes.

    Returns:
        With the name of the file.

    Raises:
        DataError: If the ending is unknown, or the file cannot be written.
    """
    if file is None:
        return result
    if not isinstance(file, FlightFile):
        file(flight_picture(prepared, result))
        return result
    kind = file.path.suffix.lower().lstrip(".")
    if kind not in (*_FIGURES, *_REPORTS):
        raise DataError(
            f"{file.path.name}: no figure or report of that kind can be made",
            f"end it in {', '.join((*_FIGURES, *_REPORTS))}",
        )
    write_atomically(file.path, _content(prepared, result, file, kind))
    return replace(result, figure=str(file.path))


def _content(prepared: PreparedFlight, result: Reduction, file: FlightFile, kind: str) -> bytes:
    if kind == "pdf":
        return flight_report_pdf(flight_report(result, file))
    picture = flight_picture(prepared, result)
    if kind != "html":
        return flight_figure(picture, kind)
    drawn = flight_figure(picture, "svg").decode("utf-8")
    return flight_report_html(flight_report(result, file), drawn).encode("utf-8")


def flight_picture(prepared: PreparedFlight, result: Reduction) -> FlightPicture:
    """Return what the figure of a flight shows.

    Args:
        result: Of this flight.
    """
    recorded = prepared.flight.recorded
    name = prepared.flight.airspeed_from.replace("_", " ")
    return FlightPicture(
        title=", ".join(
            str(part)
            for part in (result.airframe, result.flown_on, result.source)
            if part is not None
        ),
        facts=_facts(result),
        airspeed_name=name if name == "indicated airspeed" else "airspeed",
        history=None if recorded is None else flight_history(recorded),
        runs=tuple(_run(run, result.legs, prepared) for run in result.runs),
        other_legs=tuple(_legs(result.other_legs)),
        notes=_refused_words(result),
    )


def _facts(result: Reduction) -> str:
    weights = [run.weight_kg for run in result.runs if np.isfinite(run.weight_kg)]
    parts = [f"flaps {result.flap_setting}"]
    if weights:
        low, high = min(weights), max(weights)
        span = f"{high:.0f} to {low:.0f} kg" if high - low >= 0.5 else f"{high:.0f} kg"
        parts.append(span)
    if result.airspeed_from is not None:
        parts.append(f"airspeed from {result.airspeed_from.replace('_', ' ')}")
    north = "the log's own" if result.track_reference == "unknown" else result.track_reference
    parts.append(f"tracks and winds from {north} north")
    if result.choices:
        parts.append(f"by hand: {', '.join(result.choices)}")
    return "; ".join(parts)


def _refused_words(result: Reduction) -> tuple[str, ...]:
    if not result.refused:
        return ()
    numbers = ", ".join(str(run.run) for run in result.refused)
    return (f"Not solved: {'run' if len(result.refused) == 1 else 'runs'} {numbers}.",)


def flight_history(recorded: Recorded) -> FlightHistory:
    """Return the readings of a log against time."""
    return FlightHistory(
        time_s=recorded.t_s,
        airspeed_kt=from_si(recorded.airspeed_mps, "kt"),
        altitude_ft=from_si(recorded.altitude_m, "ft"),
        track_deg=np.degrees(recorded.track_rad) % 360.0,
        ground_speed_kt=from_si(recorded.ground_speed_mps, "kt"),
    )


def _legs(lines: Iterable[LegLine]) -> Iterable[PicturedLeg]:
    for line in lines:
        yield PicturedLeg(
            run=line.run,
            leg=line.leg,
            start_s=line.start_s,
            stop_s=line.stop_s,
            east_kt=line.ground_east_kt,
            north_kt=line.ground_north_kt,
            residual_kt=line.residual_kt,
            left_out=line.outcome == LEFT_OUT,
        )


def _run(run: RunLine, legs: tuple[LegLine, ...], prepared: PreparedFlight) -> PicturedRun:
    own = tuple(_legs(line for line in legs if line.run == run.run))
    samples, start, stop = np.empty((2, 0)), None, None
    if not own:
        flown = parts_of(prepared.flight, prepared.details)[run.run]
        samples = from_si(
            np.concatenate([np.stack([f.east_mps, f.north_mps]) for f in flown], axis=1), "kt"
        )
        start, stop = float(flown[0].time_s[0]), float(flown[-1].time_s[-1])
    return PicturedRun(
        number=run.run,
        vic_kt=run.vic_kt,
        tas_kt=run.tas_kt,
        wind_speed_kt=run.wind_speed_kt,
        wind_from_deg=run.wind_from_deg,
        kappa=run.kappa,
        u_kappa=run.u_kappa,
        dvpc_kt=run.dvpc_kt,
        U95_dvpc_kt=run.U95_dvpc_kt,
        residual_kt=run.residual_kt,
        reason=run.reason,
        legs=own,
        samples_kt=samples,
        start_s=start,
        stop_s=stop,
    )
