"""The departure of each group's mean from its curve, learnt from the points.

No true mean is a polynomial. What it has beyond the curve is taken as a random walk over the
logarithm of speed: free to kink, surest where points are and least sure between the speeds flown.
The curve takes up what it can of it. How large the rest is, sigma, its root mean square over the
speeds that the group flew, is averaged by restricted likelihood, with a half-normal prior whose
scale is a share of the deviation of one point from the curve, so that the unit of y does not
matter. No test switches it on.

The curve stays a polynomial. Its bands lie about the curve with the likely departure, wider by the
variance of it, and reach to the curve where it is surely missed. With true means up to 0.6 kt off
the nearest quadratic the mean band holds at the worst of eight speeds in 91 to 97 % of fleets;
bands made wider only where a test found a bend held in 46 to 95 %. Where the mean is a quadratic
it holds in 96 to 99 %, and is a twentieth wider (`python -m tests.fleet.simulations shapes`). Bands
left about the curve and widened by the mean square of the departure were wider and held less. A
smooth departure (squared exponential, a third of the speeds long) is too sure of what lies between
the speeds flown.

Sources: M. C. Kennedy, A. O'Hagan, Bayesian calibration of computer models, Journal of the Royal
Statistical Society B 63 (2001), for a discrepancy with a prior; G. Wahba, Improper priors, spline
smoothing and the problem of guarding against model errors in regression, the same journal, 40
(1978).
"""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np
from scipy import special

from fleetcal.fleet.basis import curve_basis
from fleetcal.fleet.curve_departure import STEPS, CurveDeparture, log_x, walk_rows
from fleetcal.fleet.points import Array, FleetPoints, Index
from fleetcal.fleet.pooled import PooledFit
from fleetcal.fleet.spread_grid import cell_edges
from fleetcal.fleet.whitened import weighted_products

#: Scale of the prior of sigma, as a share of the deviation of one point from the curve.
SHARE: Final = 0.4
#: Sizes of sigma that are tried, over that scale.
SIZES: Final = np.r_[0.0, np.geomspace(0.06, 4.0, 16)]
#: Places over the speeds flown at which sigma is the root mean square.
_PLACES: Final = 60
#: Share of the walk that the points must see beyond the curve for anything to be learnt.
_SEEN: Final = 1e-9


def learnt_departures(points: FleetPoints, fit: PooledFit) -> list[CurveDeparture | None]:
    """Learn the departure of every group's mean from its curve.

    Args:
        fit: Of `points`; taken at its most likely spread.

    Returns:
        One for each group; None where its points can show no departure.
    """
    place = log_x(points.x)
    slow, fast = float(place.max()), float(place.min())
    if slow == fast:
        return [None] * points.groups
    size = fit.order + 1

    def columns(rows: Index) -> Array:
        x, y = points.x[rows], points.y[rows, None]
        return np.hstack([curve_basis(x, fit.order), y, walk_rows(x, slow, fast)])

    variance = _variance_of_points(points, fit)
    owner = points.group_of[points.aircraft]
    found: list[CurveDeparture | None] = []
    for group, product in enumerate(weighted_products(points, fit, columns)):
        mine = owner == group
        taken = np.linalg.solve(product[:size, :size], product[:size, size + 1 :])
        unit = CurveDeparture(
            slow=slow, fast=fast, taken=taken, mean=np.zeros(STEPS), covariance=np.eye(STEPS)
        )
        seen = product[size + 1 :, size + 1 :] - product[size + 1 :, :size] @ taken
        if np.trace(seen) <= _SEEN * np.trace(product[size + 1 :, size + 1 :]):
            found.append(None)
            continue
        x = np.exp(np.linspace(place[mine].max(), place[mine].min(), _PLACES))
        mean_square = float(np.mean(unit.variance(x)))
        scale = SHARE * np.sqrt(float(np.mean(variance[mine])) / mean_square)
        score = product[size + 1 :, size] - taken.T @ product[:size, size]
        mean, covariance = _rises(seen, score, scale * SIZES)
        found.append(replace(unit, mean=mean, covariance=covariance))
    return found


def _variance_of_points(points: FleetPoints, fit: PooledFit) -> Array:
    """Return the variance of each point about its group's curve."""
    departs = curve_basis(points.x, len(fit.spread) - 1)
    noise = points.u_own**2 + np.sum(points.u_shared**2, axis=1)
    return np.asarray(np.einsum("ni,ij,nj->n", departs, fit.spread, departs) + fit.phi * noise)


def _rises(seen: Array, score: Array, deviation: Array) -> tuple[Array, Array]:
    """Return mean and covariance of the rises, averaged over their deviation.

    Args:
        seen (steps, steps): Information on the rises, the curve taken out.
        score (steps,): Their slope of the log likelihood at no rise.
        deviation (sizes,): Of one rise; the prior is of these over the scale, see `SIZES`.

    Returns:
        Shapes (steps,) and (steps, steps).
    """
    value, vector = np.linalg.eigh(seen)
    value, pull = np.maximum(value, 0.0), vector.T @ score
    prior = deviation[:, None] ** 2
    gain = 1.0 + prior * value
    left = prior / gain
    edges = np.r_[0.0, cell_edges(SIZES)[:-1], np.inf]
    chance = np.diff(special.erf(edges / np.sqrt(2.0)))
    log_weight = np.log(chance) + np.sum(left * pull**2 - np.log(gain), axis=1) / 2.0
    weight = np.exp(log_weight - log_weight.max())
    weight /= weight.sum()
    mean = weight @ left * pull
    away = left * pull - mean
    inner = np.einsum("n,ni,nj->ij", weight, away, away) + np.diag(weight @ left)
    return vector @ mean, vector @ inner @ vector.T
