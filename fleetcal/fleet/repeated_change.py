"""The same change made on several airframes: their differences pooled.

Each airframe gives a difference of two curves with its covariance; the effect
may differ from airframe to airframe in level and tilt. The differences take the
place of aircraft in the pooled fit, so the mean effect has the same kind of band.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from fleetcal.fleet.averaged import averaged_wald
from fleetcal.fleet.contrast import Contrast
from fleetcal.fleet.likelihood import departure_columns
from fleetcal.fleet.points import Array
from fleetcal.fleet.pooled import PooledFit, fit_sums
from fleetcal.fleet.sums import AircraftSums


def pool_changes(changes: Sequence[Contrast], reach: Array) -> tuple[Contrast, PooledFit]:
    """Pool the differences of several airframes.

    Args:
        changes: One an airframe, of one order.
        reach (2,): Lowest and highest t that all flew.

    Returns:
        The mean difference, and the fit it comes from.

    Raises:
        FitError: If the differences do not determine a mean.
    """
    order = changes[0].order
    p, airframes = order + 1, len(changes)
    products, log_det = np.zeros((airframes, p + 1, p + 1)), np.zeros(airframes)
    for place, change in enumerate(changes):
        mean = change.weight @ change.difference
        about = change.difference - mean
        covariance = np.einsum("n,nij->ij", change.weight, change.covariance)
        covariance += np.einsum("n,ni,nj->ij", change.weight, about, about)
        rows = np.c_[np.eye(p), mean]
        products[place] = rows.T @ np.linalg.solve(covariance, rows)
        log_det[place] = np.linalg.slogdet(covariance)[1]
    sums = AircraftSums(
        products=products,
        log_det=log_det,
        # as many values as coefficients that depart: nothing to spare that could scale them
        count=np.full(airframes, departure_columns(order), dtype=np.int64),
        group_of=np.zeros(airframes, dtype=np.int64),
        reach=np.tile(reach, (airframes, 1)),
    )
    fit = fit_sums(sums, 1, likely_alike=True)
    averaged = fit.averaged
    beta, covariance = averaged.beta[:, 0], averaged.covariance[:, 0]
    chance = averaged_wald(averaged.weight, beta, covariance)
    return Contrast(
        order=order,
        weight=averaged.weight,
        difference=beta,
        covariance=covariance,
        best=fit.beta[0],
        p_value=chance,
    ), fit
