"""Groups of one or two aircraft, and what a group says of one of its aircraft beforehand.

Three aircraft tell the spread between them, roughly; one or two do not. Their groups are fitted
with a spread that is supposed (`spread_prior`) and with what is known of any port (`port_prior`),
in the same sums as a large group. The bands are wide then, and say where the answer ends. The
spread is averaged over as in a large group, so that a band for another aircraft has the long
tails of a spread that nobody has seen.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np

from fleetcal.fleet.averaged import leave_out
from fleetcal.fleet.bands import Widening
from fleetcal.fleet.basis import HIGHEST_ORDER
from fleetcal.fleet.common_errors import common_shifts
from fleetcal.fleet.likelihood import departure_columns, group_sums
from fleetcal.fleet.own_curve import Beforehand, OwnPoints, own_scatter
from fleetcal.fleet.points import Array, FleetPoints
from fleetcal.fleet.pooled import PooledFit, spread_root
from fleetcal.fleet.port_prior import PortPrior
from fleetcal.fleet.search import require_determined
from fleetcal.fleet.spread_prior import SpreadPrior
from fleetcal.fleet.sums import aircraft_sums

#: Of one aircraft alone there is no spread.
_ALL_ALIKE: Final = SpreadPrior(level=1e-9, tilt=1e-9, level_worth=1e3, tilt_worth=1e3)


def fit_few(points: FleetPoints, known: SpreadPrior, ports: PortPrior) -> PooledFit:
    """Fit groups of any size with a supposed spread and what is known of ports.

    Args:
        known: Of the spread between aircraft.
    """
    sums = aircraft_sums(points)
    spread = np.diag([known.level**2, known.tilt**2])
    solved = group_sums(sums, spread_root(spread), 1.0, points.groups, ports.information)
    fit = PooledFit(
        order=HIGHEST_ORDER,
        beta=solved.beta,
        spread=spread,
        phi=1.0,
        solved=solved,
        sums=sums,
        known=known,
        ports=ports.information,
    )
    nothing = np.zeros((HIGHEST_ORDER + 1, HIGHEST_ORDER + 1))
    owner = points.group_of[points.aircraft]
    wider = tuple(
        Widening(1.0, nothing, ports.departure(points.x[owner == group]))
        for group in range(points.groups)
    )
    return replace(fit, beta=fit.averaged.mean_beta(), wider=wider)


def fit_alone(points: FleetPoints, order: int) -> PooledFit:
    """Fit the points of one aircraft by themselves, by generalised least squares.

    Errors that last are carried through. Points that scatter more than by chance in one case in a
    hundred have their uncertainties widened.

    Args:
        points: Of one aircraft in one group.

    Returns:
        Both of whose bands are where the aircraft's own curve lies.

    Raises:
        FitError: If the points do not determine a curve of the order.
    """
    rows = np.arange(len(points.x))
    none = np.zeros((len(rows), 0))
    own = OwnPoints(x=points.x, y=points.y, errors=points.error_covariance(rows), lasting=none)
    phi = own_scatter(own, order) ** 2
    sums = aircraft_sums(points).with_order(order)
    require_determined(sums, 1)
    size = departure_columns(order)
    solved = group_sums(sums, np.zeros((size, size)), phi, 1)
    fit = PooledFit(
        order=order,
        beta=solved.beta,
        spread=np.zeros((size, size)),
        phi=phi,
        solved=solved,
        sums=sums,
        known=_ALL_ALIKE,
    )
    lasting = np.hstack([points.u_airframe, points.u_fleet])
    return replace(fit, common=common_shifts(replace(points, u_fleet=lasting), fit))


def any_port(ports: PortPrior, x: Array) -> tuple[Beforehand, ...]:
    """Return what is known of the curve of an aircraft without a group.

    Args:
        x (n,): Where it was flown.

    Returns:
        One for each size that its departures from a quadratic may have.
    """
    covariance = np.asarray(np.linalg.inv(ports.information), dtype=np.float64)
    return tuple(
        Beforehand(
            weight=np.array([share]),
            beta=np.zeros((1, HIGHEST_ORDER + 1)),
            covariance=covariance[None],
            departures=(ports.departure(x, size),),
        )
        for size, share in ports.sizes()
    )


def one_more(fit: PooledFit, group: int, aircraft: int | None = None) -> tuple[Beforehand, ...]:
    """Return what a group says of one of its aircraft without that aircraft's points.

    Args:
        aircraft: Number in the fit; None for one that has not flown in the group.

    Returns:
        Nothing where the others do not determine the group's curve.
    """
    averaged, size = fit.averaged, len(fit.spread)
    if aircraft is None:
        beta, covariance = averaged.beta[:, group], averaged.covariance[:, group].copy()
    else:
        rest = next(leave_out(averaged, fit.sums, np.array([aircraft])))
        beta, covariance = rest.beta, rest.covariance.copy()
        if not np.all(np.isfinite(beta)):
            return ()
    departure = fit.departure(group)
    if fit.wider:
        covariance = fit.wider[group].factor * covariance + fit.wider[group].added
    common = fit.common_shift(group)
    covariance = covariance + common.T @ common
    covariance[:, :size, :size] += averaged.spread
    return (
        Beforehand(
            weight=averaged.weight,
            beta=beta,
            covariance=covariance,
            departures=() if departure is None else (departure,),
            counted=True,
        ),
    )
