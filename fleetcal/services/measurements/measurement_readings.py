"""From the rows of a measurement file to calibration points, technique by technique."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from fleetcal.airdata.atmosphere import pressure_from_altitude
from fleetcal.airdata.budget import Assumptions
from fleetcal.airdata.techniques.pace_aircraft import (
    PaceAltimeter,
    PaceReadings,
    reduce_pace_aircraft,
)
from fleetcal.airdata.techniques.speed_course import CoursePair, reduce_speed_course
from fleetcal.airdata.techniques.technique_point import TechniquePoint
from fleetcal.airdata.techniques.tower_fly_by import TowerPass, reduce_tower_fly_by
from fleetcal.airdata.techniques.trailing_static import (
    TrailingAltimeter,
    TrailingGauge,
    reduce_trailing_static,
)
from fleetcal.errors import ImplausibleError, MissingColumnError, OutOfRangeError
from fleetcal.records import LARGEST_KAPPA, LEAST_KAPPA, kappa_can_be
from fleetcal.services.bench.bench_corrections import BenchInForce
from fleetcal.services.flights.air_taken import NOTHING_STATED, AirTaken, StatedAir
from fleetcal.services.flights.settings_file import ReductionSettings
from fleetcal.services.measurements.measurement_columns import LABEL, TechniqueFile
from fleetcal.services.measurements.measurement_row import CHECKED, Row
from fleetcal.services.plain_table import PlainTable
from fleetcal.services.point_cells import FileRow


@dataclass(frozen=True)
class MeasuredFile:
    """What a file gives.

    Attributes:
        points: Each with the line it begins at.
        air: What temperature and humidity of each were taken to be.
    """

    points: tuple[tuple[int, TechniquePoint], ...]
    air: tuple[AirTaken, ...]


def require_columns(table: PlainTable, file: TechniqueFile) -> None:
    """Refuse a file that lacks a quantity, or has it in two forms.

    Raises:
        MissingColumnError: If so.
    """
    either = (("oat_degc", "ambient_degc"), ("humidity_pct", "dew_point_degc"))
    for forms in (*file.needed, *either):
        found = [name for name in forms if name in table.headings]
        if len(found) > 1:
            raise MissingColumnError(
                f"{table.name}, line 1: both {' and '.join(found)}", "keep one of them"
            )
        if not found and forms in file.needed:
            raise MissingColumnError(
                f"{table.name}, line 1: no column {' or '.join(forms)}",
                "the command's --help lists the columns, with an example",
            )


def applied_kinds(table: PlainTable, bench: BenchInForce) -> tuple[str, ...]:
    """Return whose bench checks correct the readings of a file."""
    return tuple(
        kind for name, kind in CHECKED.items() if name in table.headings and bench.check(kind)
    )


def bench_warnings(
    table: PlainTable, file: TechniqueFile, bench: BenchInForce, kinds: Sequence[str]
) -> tuple[str, ...]:
    """Return what there is to be said of readings beyond the checked range.

    Args:
        kinds: Whose checks are applied.
    """
    rows = [
        Row(line=line, file=file, bench=bench, air=NOTHING_STATED, settings=ReductionSettings())
        for line in table.rows
    ]
    readings = {
        kind: [np.asarray(row.value(name)) for row in rows]
        for name, kind in CHECKED.items()
        if kind in kinds
    }
    warnings = (bench.beyond(kind, found) for kind, found in readings.items())
    return tuple(warning for warning in warnings if warning)


def measured_points(
    table: PlainTable,
    file: TechniqueFile,
    bench: BenchInForce,
    settings: ReductionSettings,
    air: StatedAir,
) -> MeasuredFile:
    """Return the points of a file, each with the line it begins at.

    Args:
        settings: With the uncertainties of the bench checks.
        air: What is said of temperature and humidity outside the file.

    Raises:
        MalformedFileError: If a cell is wrong, or a reading outside the relations; the message
            names line and column.
        ImplausibleError: If no static port can have a kappa.
    """
    require_columns(table, file)
    rows = [
        Row(line=line, file=file, bench=bench, air=air, settings=settings) for line in table.rows
    ]
    found, airs = [], []
    for together in _points(rows):
        line = together[0].line
        try:
            airs.append(together[0].air_taken())
            assumptions = airs[-1].assumptions(settings.uncertainty)
            point = _REDUCE[file.technique](together, assumptions)
        except OutOfRangeError as error:
            raise line.wrong(error.message, error.hint) from error
        _refuse_implausible(line, point)
        found.append((line.line, point))
    return MeasuredFile(tuple(found), tuple(airs))


def _points(rows: Sequence[Row]) -> list[list[Row]]:
    """Return the rows of each point: those with one label, else every row alone."""
    groups: dict[tuple[str, int], list[Row]] = {}
    for row in rows:
        label = next((c.name for c in row.file.columns if c.unit == LABEL), None)
        text = row.line.text(label) if label else ""
        groups.setdefault((text, 0 if text else row.line.line), []).append(row)
    return list(groups.values())


def _refuse_implausible(line: FileRow, point: TechniquePoint) -> None:
    place = f"{line.file}, line {line.line}"
    if not kappa_can_be(point.kappa):
        raise ImplausibleError(
            f"{place}: kappa would be {point.kappa:+.2f}, and of a static port it lies between "
            f"{LEAST_KAPPA:g} and {LARGEST_KAPPA:g}",
            "check units, columns and signs",
        )
    if point.u_kappa <= 0.0:
        raise ImplausibleError(
            f"{place}: no uncertainty is given",
            "without a standard uncertainty a point cannot be weighed",
        )


def _speed_course(rows: Sequence[Row], assumptions: Assumptions) -> TechniquePoint:
    for row in rows:
        row.value("ambient_degc" if row.has("ambient_degc") else "oat_degc")
    pairs = [
        CoursePair(
            cockpit=row.cockpit(),
            distance_m=row.value("distance_m"),
            time_out_s=row.value("time_out_s"),
            time_back_s=row.value("time_back_s"),
            u_distance_m=row.value("u_distance_m"),
            u_time_s=row.value("u_time_s"),
        )
        for row in rows
    ]
    return reduce_speed_course(pairs, assumptions)


def _pace_aircraft(rows: Sequence[Row], assumptions: Assumptions) -> TechniquePoint:
    (row,) = rows
    altitude = row.optional("pace_pressure_altitude_ft")
    altimeter = None
    if altitude is not None:
        altimeter = PaceAltimeter(
            altitude_m=altitude,
            correction_m=row.value("pace_altitude_correction_ft"),
            u_calibration_m=row.value("u_pace_altitude_ft"),
            u_reading_m=row.value("u_pace_altitude_reading_ft"),
            u_station_m=row.value("u_station_ft"),
        )
    readings = PaceReadings(
        cockpit=row.cockpit(),
        airspeed_mps=row.value("pace_ias_kt"),
        correction_mps=row.value("pace_correction_kt"),
        u_calibration_mps=row.value("u_pace_kt"),
        u_reading_mps=row.value("u_pace_reading_kt"),
        u_station_mps=row.value("u_station_kt"),
        altimeter=altimeter,
    )
    return reduce_pace_aircraft(readings, assumptions)


def _tower_fly_by(rows: Sequence[Row], assumptions: Assumptions) -> TechniquePoint:
    (row,) = rows
    if row.has("reference_pressure_hpa"):
        pressure = row.value("reference_pressure_hpa")
    else:
        pressure = float(pressure_from_altitude(row.value("reference_pressure_altitude_ft")))
    reading = TowerPass(
        cockpit=row.cockpit(),
        reference_pressure_pa=pressure,
        reference_temperature_k=row.value("reference_temperature_degc"),
        height_m=row.value("height_m" if row.has("height_m") else "height_ft"),
        u_reference_pressure_pa=row.value("u_reference_pressure_hpa"),
        u_reference_temperature_k=row.value("u_reference_temperature_k"),
        u_survey_m=row.value("u_survey_m"),
        u_sighting_m=row.value("u_height_m"),
    )
    return reduce_tower_fly_by(reading, assumptions)


def _trailing_static(rows: Sequence[Row], assumptions: Assumptions) -> TechniquePoint:
    (row,) = rows
    if row.has("dps_pa"):
        return reduce_trailing_static(
            TrailingGauge(
                cockpit=row.cockpit(),
                difference_pa=row.value("dps_pa"),
                correction_pa=row.value("trailing_correction_pa"),
                u_correction_pa=row.value("u_trailing_pa"),
                u_gauge_pa=row.value("u_gauge_pa"),
                u_reading_pa=row.value("u_dps_reading_pa"),
            ),
            assumptions,
        )
    return reduce_trailing_static(
        TrailingAltimeter(
            cockpit=row.cockpit(),
            altitude_m=row.value("trailing_pressure_altitude_ft"),
            correction_m=row.value("trailing_correction_ft"),
            u_correction_m=row.value("u_trailing_ft"),
            u_reading_m=row.value("u_trailing_reading_ft"),
        ),
        assumptions,
    )


_REDUCE: Final[dict[str, Callable[[Sequence[Row], Assumptions], TechniquePoint]]] = {
    "speed course": _speed_course,
    "pace aircraft": _pace_aircraft,
    "tower fly-by": _tower_fly_by,
    "trailing static": _trailing_static,
}
