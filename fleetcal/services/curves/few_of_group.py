"""A group fitted with what is supposed of ports and of the spread between airframes."""

from __future__ import annotations

from typing import Final

import numpy as np

from fleetcal.fleet.few_aircraft import fit_few
from fleetcal.fleet.pooled import PooledFit
from fleetcal.fleet.port_prior import PortPrior
from fleetcal.services.curves.pooled_point import fleet_points
from fleetcal.services.curves.type_points import TypePoints
from fleetcal.services.curves.usual_spread import UsualSpread

#: What is supposed of any port.
ANY_PORT: Final = PortPrior()


def few_of_group(known: TypePoints, group: int) -> PooledFit:
    """Fit one group of a type by itself, however few airframes flew it.

    Args:
        group: Number in `known`; the group has the number 0 in the fit.
    """
    usual = known.usual or UsualSpread()
    rows = known.rows_of(group)
    owner = known.points.aircraft[known.points.group_of[known.points.aircraft] == group]
    members, aircraft = np.unique(owner, return_inverse=True)
    points = fleet_points(rows, aircraft.tolist(), [0] * len(members))
    return fit_few(points, usual.known, ANY_PORT)
