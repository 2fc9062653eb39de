"""An invented pooled table: numbers made up to be drawn and printed, checked against nothing."""

from __future__ import annotations

from datetime import date

import numpy as np

from fleetcal.publish.pooled_table import PlottedPoint, PooledTable
from fleetcal.publish.table_row import ReadingRow, TableRow


def correction_at(ias_kt: float) -> float:
    return 3.4 - 0.075 * (ias_kt - 50.0) + 0.00035 * (ias_kt - 50.0) ** 2


def filled_row(ias_kt: float, airframes: int = 8) -> TableRow:
    correction = correction_at(ias_kt)
    mean = 0.35 + 0.0002 * (ias_kt - 95.0) ** 2
    spread = 1.3 + 0.0004 * (ias_kt - 95.0) ** 2
    return TableRow(
        ias_kt=ias_kt,
        cas_kt=ias_kt + correction,
        correction_kt=correction,
        mean_low_kt=correction - mean,
        mean_high_kt=correction + mean,
        next_low_kt=correction - spread,
        next_high_kt=correction + spread,
        altitude_correction_ft=correction * 0.08 * ias_kt,
        airframes=airframes,
        flown_by=airframes,
    )


def empty_row(ias_kt: float, note: str = "no aircraft was flown this slowly") -> TableRow:
    return TableRow(
        ias_kt=ias_kt,
        cas_kt=None,
        correction_kt=None,
        mean_low_kt=None,
        mean_high_kt=None,
        next_low_kt=None,
        next_high_kt=None,
        altitude_correction_ft=None,
        airframes=0,
        note=note,
    )


def invented_points(airframes: int = 8, seed: int = 20) -> tuple[PlottedPoint, ...]:
    generator = np.random.default_rng(seed)
    points = []
    for number in range(1, airframes + 1):
        departure = generator.normal(0.0, 0.6)
        for speed in (65.0, 80.0, 95.0, 110.0, 125.0, 138.0):
            ias = speed + generator.normal(0.0, 1.5)
            wobble = generator.normal(0.0, 0.3)
            points.append(
                PlottedPoint(
                    airframe=f"C-{number:02d}",
                    ias_kt=ias,
                    correction_kt=correction_at(ias) + departure + wobble,
                    u_correction_kt=0.45,
                )
            )
    return tuple(points)


def invented_readings() -> tuple[ReadingRow, ...]:
    """Lines of a table from CAS to IAS; the first is not reached."""
    empty = ReadingRow(
        cas_kt=60.0,
        ias_kt=None,
        correction_kt=None,
        mean_low_kt=None,
        mean_high_kt=None,
        next_low_kt=None,
        next_high_kt=None,
        altitude_correction_ft=None,
        airframes=0,
        note="flown by nobody",
    )
    filled = [
        ReadingRow(
            cas_kt=cas,
            ias_kt=cas - 2.5,
            correction_kt=2.5,
            mean_low_kt=cas - 3.0,
            mean_high_kt=cas - 2.0,
            next_low_kt=cas - 4.0,
            next_high_kt=cas - 1.0,
            altitude_correction_ft=20.0,
            airframes=8,
        )
        for cas in (65.0, 70.0, 75.0)
    ]
    return (empty, *filled)


def invented_table(**changes: object) -> PooledTable:
    values: dict[str, object] = {
        "type_name": "Corrie 2",
        "static_source": "mid-fuselage raised disc pair",
        "engine": "75 kW four",
        "propeller": "three-blade ground-adjustable",
        "flap_setting": "up",
        "weight_kg": 600.0,
        "altitude_statement": "Altimeter corrections hold at standard sea level.",
        "rows": (
            empty_row(50.0),
            empty_row(55.0),
            *(filled_row(float(ias)) for ias in range(60, 145, 5)),
            empty_row(145.0, "no aircraft was flown this fast"),
        ),
        "points": invented_points(),
        "curve": tuple(filled_row(float(ias)) for ias in range(60, 141)),
        "airframe_count": 8,
        "sortie_count": 11,
        "point_count": 48,
        "model": "Error coefficient as a second-order curve in lift coefficient, each aircraft "
        "with its own departure in level and tilt, fitted by restricted maximum likelihood.",
        "left_out": ("C-03, sortie of 2021-05-14: leak found on the bench (invented).",),
        "made_on": date(2024, 5, 1),
        "program_version": "0.1.0",
    }
    values.update(changes)
    return PooledTable(**values)  # type: ignore[arg-type]
