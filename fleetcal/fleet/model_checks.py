"""Whether the points of a group agree with the model that was fitted to them.

Three things make a confident answer wrong: points that scatter more than their
uncertainties say, a mean curve that bends as no polynomial of the chosen order
does, and one sortie that outweighs all others. The first and the last widen the
bands where they show; the bend is tested only to be named, since the bands hold what
`learnt_departure` makes of it whether it shows or not. Sources: R. T. Birge, The
calculation of errors by the method of least squares, Physical Review 40 (1932),
for the ratio; score tests of added columns as in C. R. Rao, Linear Statistical
Inference and Its Applications (1973), 6e.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from scipy import special

from fleetcal.fleet.averaged import leave_out
from fleetcal.fleet.bands import Widening
from fleetcal.fleet.basis import curve_basis
from fleetcal.fleet.clusters import Clusters, two_clusters
from fleetcal.fleet.common_errors import common_shifts
from fleetcal.fleet.curve_departure import CurveDeparture
from fleetcal.fleet.learnt_departure import learnt_departures
from fleetcal.fleet.points import Array, FleetPoints, Index
from fleetcal.fleet.pooled import PooledFit, fit_fleet
from fleetcal.fleet.whitened import whiten

#: Chances of a false alarm in one group. The check of the bend stays well below its own,
#: because the spread between aircraft takes part of what it looks for.
SCATTER_LEVEL: Final = 0.01
BEND_LEVEL: Final = 0.05
#: Steps of speed in which the mean of the points is compared with the curve.
MOST_STEPS: Final = 6
#: Share of a group's curve from which one sortie is said to dominate it.
DOMINATING: Final = 0.5


@dataclass(frozen=True)
class Misfit:
    """The points of a group against its curve, in steps of speed.

    Attributes:
        p_value: Chance of misses so large with the curve true; NaN when there are not more steps
            than coefficients.
        x (steps,): Mean x of each step.
        miss (steps,): Mean of points less curve, in y.
        deviation: Standard deviation of the misses beyond what the uncertainties explain, in y, by
            which aircraft are held against the curve less surely; 0 unless it misses surely.
    """

    p_value: float
    x: Array
    miss: Array
    deviation: float


@dataclass(frozen=True, kw_only=True)
class GroupCheck:
    """What speaks against a group's answer.

    Attributes:
        scatter: Birge ratio: scatter of the points about their own aircraft's curve over their
            stated uncertainty; NaN without points to spare.
        scatter_p_value: Chance of a ratio as large with the uncertainties right.
        factor: On the variance of the group's curve, for scatter beyond the factor phi that is
            found for the whole type; 1 or more.
        heaviest_sortie: The sortie with the largest share in the curve.
        heaviest_share: Its share where that is largest, 0 to 1.
        shift (p,): Coefficients of the curve less those without the aircraft of that sortie, if it
            dominates; zero otherwise.
        departure: Of the mean from the curve; None where the points can show none.
        clusters: What the group looks like two of; None for one group.
    """

    scatter: float
    scatter_p_value: float
    factor: float
    misfit: Misfit
    heaviest_sortie: int
    heaviest_share: float
    shift: Array
    departure: CurveDeparture | None
    clusters: Clusters | None

    @property
    def widening(self) -> Widening:
        """What it makes of the bands."""
        return Widening(self.factor, np.outer(self.shift, self.shift), self.departure)


def fit_checked(
    points: FleetPoints, order: int | None = None
) -> tuple[PooledFit, tuple[GroupCheck, ...]]:
    """Fit all groups of a type, with bands as wide as the checks ask for.

    Args:
        order: As `fit_fleet`.

    Returns:
        The fit, and what was found in each group.

    Raises:
        FitError: As `fit_fleet`.
    """
    fit = fit_fleet(points, order)
    checks = check_groups(points, fit)
    wider = tuple(check.widening for check in checks)
    return replace(fit, wider=wider, common=common_shifts(points, fit)), checks


def check_groups(points: FleetPoints, fit: PooledFit) -> tuple[GroupCheck, ...]:
    """Check every group of a fit.

    Args:
        fit: Of `points`.

    Returns:
        One for each group.
    """
    found = []
    departures = learnt_departures(points, fit)
    clusters = {one.group: one for one in two_clusters(fit.sums)}
    for group, misfit in enumerate(group_misfits(points, fit)):
        ratio, p_value = _scatter(fit, group)
        extra = ratio**2 / fit.phi if p_value < SCATTER_LEVEL else 1.0
        sortie, share, shift = _heaviest(points, fit, group)
        found.append(
            GroupCheck(
                scatter=ratio,
                scatter_p_value=p_value,
                factor=max(extra, 1.0),
                misfit=misfit,
                heaviest_sortie=sortie,
                heaviest_share=share,
                shift=shift,
                departure=departures[group],
                clusters=clusters.get(group),
            )
        )
    return tuple(found)


def group_misfits(points: FleetPoints, fit: PooledFit) -> list[Misfit]:
    """Hold the curve of every group against its points, in steps of speed.

    Args:
        fit: Of `points`.

    Returns:
        One for each group.
    """
    owner = points.group_of[points.aircraft]
    steps = np.zeros((len(owner), MOST_STEPS))
    for group in range(points.groups):
        mine = np.flatnonzero(owner == group)
        steps[mine, _steps(points.x[mine], points.aircraft[mine], fit.order)] = 1.0
    columns = [curve_basis(points.x, fit.order), points.y[:, None], steps]
    white = whiten(points, fit, np.hstack(columns))
    found = []
    for group in range(points.groups):
        mine = owner == group
        flown = steps[mine].any(axis=0)
        keep = np.r_[np.ones(fit.order + 2, dtype=bool), flown]
        x = (steps[mine].T @ points.x[mine])[flown] / steps[mine].sum(axis=0)[flown]
        found.append(_misfit(white[mine][:, keep], fit.order + 1, x))
    return found


def _scatter(fit: PooledFit, group: int) -> tuple[float, float]:
    """Return the Birge ratio of the points about each aircraft's own curve, and its chance."""
    chi_square, free = 0.0, 0
    size = fit.sums.products.shape[1] - 1
    for products, count, own in zip(
        fit.sums.products, fit.sums.count, fit.sums.group_of, strict=True
    ):
        if own != group or count <= size:
            continue
        fitted, _, rank, _ = np.linalg.lstsq(products[:-1, :-1], products[:-1, -1], rcond=1e-12)
        chi_square += max(float(products[-1, -1] - fitted @ products[:-1, -1]), 0.0)
        free += int(count) - int(rank)
    if free == 0:
        return np.nan, np.nan
    return float(np.sqrt(chi_square / free)), float(special.chdtrc(free, chi_square))


def _steps(x: Array, aircraft: Index, order: int) -> Index:
    """Return the step of speed of each point: equal counts, each flown by three aircraft."""
    for steps in range(MOST_STEPS, 0, -1):
        edges = np.quantile(x, np.linspace(0.0, 1.0, steps + 1)[1:-1])
        step = np.searchsorted(edges, x, side="right")
        flown = [len(np.unique(aircraft[step == k])) for k in range(steps)]
        if min(flown) >= 3 or steps <= order + 1:
            break
    return np.asarray(np.unique(step, return_inverse=True)[1], dtype=np.int64)


def _misfit(white: Array, p: int, x: Array) -> Misfit:
    """Compare the points of a group with its curve, step by step.

    `white` has the p columns of the curve, y, and a column for each step.
    """
    product = white.T @ white
    curve, right, marks = product[:p, :p], product[:p, p], product[p + 1 :, p + 1 :]
    cross = product[:p, p + 1 :]
    score = product[p + 1 :, p] - cross.T @ np.linalg.solve(curve, right)
    information = marks - cross.T @ np.linalg.solve(curve, cross)
    size = np.sqrt(np.diag(marks))
    inverse = np.linalg.pinv(information / np.outer(size, size), rcond=1e-8, hermitian=True)
    inverse = inverse / np.outer(size, size)
    free = int(np.linalg.matrix_rank(information / np.outer(size, size), tol=1e-8, hermitian=True))
    miss = inverse @ score
    if free == 0:
        return Misfit(np.nan, x, np.zeros_like(miss), 0.0)
    p_value = float(special.chdtrc(free, float(score @ miss)))
    beyond = float(np.mean(miss**2 - np.diag(inverse)))
    return Misfit(p_value, x, miss, np.sqrt(max(beyond, 0.0)) if p_value < BEND_LEVEL else 0.0)


def _heaviest(points: FleetPoints, fit: PooledFit, group: int) -> tuple[int, float, Array]:
    """Return the sortie with the largest share in a group's curve, and what hangs on it.

    Shares are taken slow, in the middle and fast; an aircraft's goes to its
    sorties by what each tells of its own curve.
    """
    mine = np.flatnonzero(points.group_of[points.aircraft] == group)
    x = np.quantile(points.x[mine], [0.1, 0.5, 0.9])
    row = curve_basis(x, fit.order) @ fit.solved.covariance[group]
    members = np.flatnonzero(fit.sums.group_of == group)
    weight = np.einsum("xi,aij,xj->ax", row, fit.solved.weighted[members, :-1, :-1], row)
    share = weight / weight.sum(axis=0)
    best, heaviest, owner = -1, 0.0, int(members[0])
    for place, aircraft in enumerate(members):
        own = np.flatnonzero(points.aircraft == aircraft)
        sorties, which = np.unique(points.sortie[own], return_inverse=True)
        information = np.bincount(which, weights=1.0 / points.u_own[own] ** 2)
        top = int(np.argmax(information))
        value = float(share[place].max() * information[top] / information.sum())
        if value > heaviest:
            best, heaviest, owner = int(sorties[top]), value, int(aircraft)
    shift = np.zeros(fit.order + 1)
    if heaviest > DOMINATING:
        rest = next(leave_out(fit.averaged, fit.sums, np.array([owner])))
        hanging = fit.averaged.mean_beta()[group] - rest.weight @ rest.beta
        shift = np.where(np.isfinite(hanging), hanging, 0.0)
    return best, heaviest, shift
