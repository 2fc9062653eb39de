"""Fit a group that one or two airframes flew, with what is supposed of ports and of the spread."""

from __future__ import annotations

from fleetcal.services.curves.few_of_group import few_of_group
from fleetcal.services.curves.fit_pool import weight_of
from fleetcal.services.curves.fitted_group import CurveRequest, FittedGroup
from fleetcal.services.curves.group_name import GroupName
from fleetcal.services.curves.groups import points_of_group
from fleetcal.services.curves.pool_members import Pool
from fleetcal.services.curves.quantity import ReadPoints


def fit_few_airframes(request: CurveRequest, read: ReadPoints, name: GroupName) -> FittedGroup:
    """Fit one group by itself, however few airframes flew it.

    Args:
        name: Somebody flew it.
    """
    known = points_of_group(read, name)
    return FittedGroup(
        request=request,
        known=known,
        name=name,
        number=0,
        fit=few_of_group(known, 0),
        weight_kg=weight_of(request, known.type),
        check=None,
        pool=Pool(known),
    )
