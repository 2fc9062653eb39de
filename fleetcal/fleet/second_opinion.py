"""The pooled question put to another program's mixed model, as a check on this one's.

MixedLM of statsmodels knows aircraft that depart by level and tilt, and fits by
restricted likelihood as `pooled` does. It takes neither the uncertainty of a
point nor an error shared by a sortie: every point weighs the same, and what the
points scatter is one number.
"""

from __future__ import annotations

import warnings
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from scipy.special import ndtr

from fleetcal.errors import FitError
from fleetcal.fleet.basis import curve_basis
from fleetcal.fleet.likelihood import departure_columns
from fleetcal.fleet.points import Array, FleetPoints

_SPARE: Final = 2  # points beyond one an aircraft, or the scatter is not known at all
_NORMAL_95: Final = 1.959964


@dataclass(frozen=True, kw_only=True)
class SecondOpinion:
    """Curves of all groups by the other program.

    Attributes:
        beta: Shape (groups, order + 1).
        covariance (groups, order + 1, order + 1): Of each group's coefficients, given the spread
            found.
        scatter: Standard deviation of a point about its aircraft's curve, in y.
        spread (k, k): Covariance of the aircraft's departures.
    """

    order: int
    beta: Array
    covariance: Array
    scatter: float
    spread: Array

    def mean_band(self, group: int, x: Array) -> tuple[Array, Array, Array]:
        """Return a group's curve and its 95 % band by the normal distribution.

        Args:
            x (n,): s = (Vs/Viw)^2.

        Returns:
            Shape (n,): Curve, lower and upper end, in y.
        """
        basis = curve_basis(x, self.order)
        half = _NORMAL_95 * np.sqrt(np.einsum("ni,ij,nj->n", basis, self.covariance[group], basis))
        centre = basis @ self.beta[group]
        return centre, centre - half, centre + half


def second_opinion(points: FleetPoints, order: int) -> SecondOpinion:
    """Fit curves of one order to all groups by statsmodels.

    Args:
        points: Those of the first fit.
        order: The one that the first fit chose.

    Raises:
        FitError: If the points are too few for it, or its search does not end.
    """
    basis = curve_basis(points.x, order)
    owner = points.group_of[points.aircraft]
    columns = [basis * (owner == group)[:, None] for group in range(points.groups)]
    design = np.concatenate(columns, axis=1)
    _require_enough(points, design.shape[1])
    size = float(np.std(points.y)) or 1.0  # its search expects numbers of about one
    departure = basis[:, : departure_columns(order)]
    found = _fitted(points.y / size, design, departure, points)
    beta = np.asarray(found.fe_params) * size
    spread, scatter = np.asarray(found.cov_re) * size**2, float(np.sqrt(found.scale)) * size
    if not found.converged or not np.all(np.isfinite(beta)) or not scatter > 0.0:
        raise _no_opinion()
    covariance = _covariance(points, design, departure, spread, scatter)
    blocks = [slice((order + 1) * g, (order + 1) * (g + 1)) for g in range(points.groups)]
    return SecondOpinion(
        order=order,
        beta=beta.reshape(points.groups, order + 1),
        covariance=np.stack([covariance[block, block] for block in blocks]),
        scatter=scatter,
        spread=spread,
    )


def second_standing(points: FleetPoints, order: int, aircraft: int) -> tuple[float, float]:
    """Hold one aircraft against a fit of all others by statsmodels.

    Args:
        order: Of the curves.

    Returns:
        Its mean departure, in y, weighed as the fit says; and the chance of one as large by the
        normal distribution, the spread and scatter found taken as known.

    Raises:
        FitError: As `second_opinion`.
    """
    other = second_opinion(points.without_aircraft({aircraft}), order)
    mine, group = points.aircraft == aircraft, int(points.group_of[aircraft])
    basis = curve_basis(points.x[mine], order)
    own = basis[:, : len(other.spread)]
    variance = own @ other.spread @ own.T + basis @ other.covariance[group] @ basis.T
    variance += other.scatter**2 * np.eye(len(basis))
    weight = np.linalg.solve(variance, np.ones(len(basis)))
    departure = float(weight @ (points.y[mine] - basis @ other.beta[group]) / weight.sum())
    return departure, float(2.0 * ndtr(-abs(departure) * np.sqrt(weight.sum())))


def _covariance(
    points: FleetPoints, design: Array, departure: Array, spread: Array, scatter: float
) -> Array:
    """Return the covariance of the coefficients at the spread and scatter found.

    Generalised least squares; the program's own comes from curvatures of the
    likelihood, which are none where a spread is zero.
    """
    information = np.zeros((design.shape[1], design.shape[1]))
    for rows in points.rows_by_aircraft():
        between = departure[rows] @ spread @ departure[rows].T
        own = between + scatter**2 * np.eye(len(rows))
        information += design[rows].T @ np.linalg.solve(own, design[rows])
    return np.asarray(np.linalg.inv(information))


def _require_enough(points: FleetPoints, coefficients: int) -> None:
    aircraft = len(points.group_of)
    needed = max(aircraft, coefficients) + _SPARE
    if len(points.x) < needed:
        raise FitError(
            f"{len(points.x)} points of {aircraft} airframes are too few for a second opinion: "
            "it finds the scatter of points where airframes have several",
            f"it needs {needed} of them; reduce more flights",
        )


def _fitted(y: Array, design: Array, departure: Array, points: FleetPoints) -> Any:
    """Return what the other program finds; it tells neither types nor shapes."""
    from statsmodels.regression.mixed_linear_model import MixedLM

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of its own steps; whether it ended is asked afterwards
        try:
            model = MixedLM(y, design, groups=points.aircraft, exog_re=departure)
            # its own first choice of search fails on a spread near zero; Powell's does not
            return model.fit(reml=True, method="powell", xtol=1e-9, ftol=1e-11, maxiter=4000)
        except (np.linalg.LinAlgError, ValueError) as error:
            raise _no_opinion() from error


def _no_opinion() -> FitError:
    return FitError(
        "the second program finds no fit to these points",
        "the points of most airframes are too few or too similar; ask again with '--order 1' "
        "or '--order 0', or after more flights",
    )
