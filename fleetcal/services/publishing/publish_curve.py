"""Publish the pooled table of a group: CSV, figure and one self-contained page."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path

import numpy as np

from fleetcal import __version__
from fleetcal.publish import PlottedPoint, PooledTable, TableRow, publish_table
from fleetcal.services.curves.pooled_curve import (
    CurveRequest,
    CurveRow,
    FittedGroup,
    PooledCurve,
    curve_rows,
    describe_curve,
    fit_group,
)
from fleetcal.services.curves.speed_grid import ias_at_weight, speed_correction_kt
from fleetcal.store import Store


@dataclass(frozen=True)
class Published:
    """Files written for a group."""

    group: str
    page: str
    csv: str
    figure: str


def publish_curve(store: Store, request: CurveRequest, folder: Path, made_on: date) -> Published:
    """Fit a group and write its table.

    Parameters
    ----------
    store : Store
    request : CurveRequest
    folder : Path
        Made when missing.
    made_on : date
        Printed on the table.

    Returns
    -------
    Published

    Raises
    ------
    FleetcalError
        As `pooled_curve`; DataError if a file cannot be written.
    """
    fitted = fit_group(store, request)
    files = publish_table(_table(fitted, describe_curve(store, fitted), made_on), folder)
    return Published(str(fitted.name), str(files.page), str(files.csv), str(files.figure))


def _table(fitted: FittedGroup, curve: PooledCurve, made_on: date) -> PooledTable:
    reached = [row.ias_kt for row in curve.rows if row.cas_kt is not None]
    fine = tuple(float(v) for v in np.arange(min(reached), max(reached) + 0.5)) if reached else ()
    return PooledTable(
        type_name=curve.type,
        static_source=curve.static_source,
        engine=curve.engine,
        propeller=curve.propeller,
        flap_setting=curve.flap_setting,
        weight_kg=curve.weight_kg,
        altitude_statement=(
            f"Altimeter corrections hold at {curve.altitude_ft:.0f} ft pressure altitude."
        ),
        rows=tuple(_row(row) for row in curve.rows),
        points=_points(fitted),
        curve=tuple(_row(row) for row in curve_rows(fitted, fine)) if fine else (),
        airframe_count=curve.airframes,
        sortie_count=curve.sorties,
        point_count=curve.points,
        model=curve.model,
        left_out=curve.left_out,
        made_on=made_on,
        program_version=__version__,
        doubts=tuple(f"{sentence}." for sentence in curve.outside),
    )


def _row(row: CurveRow) -> TableRow:
    return TableRow(**vars(row))


def _points(fitted: FittedGroup) -> tuple[PlottedPoint, ...]:
    """Return the points moved to the table's weight, with the kappa they were measured at."""
    plotted = []
    for row in fitted.known.rows_of(fitted.number):
        ias = ias_at_weight(row, fitted.weight_kg)
        correction = float(speed_correction_kt(np.asarray(ias), np.asarray(row.kappa)))
        plotted.append(
            PlottedPoint(row.airframe, ias, correction, row.u_dvpc_kt * ias / row.vic_kt)
        )
    return tuple(plotted)
