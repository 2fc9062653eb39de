"""The curve of a group or of an airframe, with what its figure shows."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import TYPE_CHECKING

from fleetcal.publish.drawings import correction_drawing
from fleetcal.services.curves.pooled_curve import (
    CurveRequest,
    PooledCurve,
    describe_curve,
    fit_group,
)
from fleetcal.services.handbook.limit_sources import limits_of_type
from fleetcal.services.publishing.table_of_group import table_of_group
from fleetcal.store import Store

if TYPE_CHECKING:
    from matplotlib.figure import Figure


def curve_with_figure(
    store: Store, request: CurveRequest, made_on: date
) -> tuple[PooledCurve, Callable[[], Figure]]:
    """Fit a group or an airframe, and tell its curve.

    Args:
        made_on: Day that the figure goes by.

    Returns:
        The curve, and what draws it without the store.

    Raises:
        FleetcalError: As `pooled_curve`.
    """
    fitted = fit_group(store, request)
    curve, limits = describe_curve(fitted), limits_of_type(store, fitted)

    def draw() -> Figure:
        return correction_drawing(table_of_group(fitted, curve, made_on, limits=limits))

    return curve, draw
