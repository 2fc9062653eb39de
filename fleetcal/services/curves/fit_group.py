"""Fit the curve of what a request names: a group of airframes, or one airframe by its tag."""

from __future__ import annotations

from fleetcal.errors import DataError, FitError
from fleetcal.fleet.fewest import FEWEST_AIRCRAFT
from fleetcal.services.curves.fit_airframe import fit_airframe, tag_named
from fleetcal.services.curves.fit_few import fit_few_airframes
from fleetcal.services.curves.fit_pool import fit_pool
from fleetcal.services.curves.fitted_group import CurveRequest, FittedGroup
from fleetcal.services.curves.group_name import GroupName
from fleetcal.services.curves.groups import named_group
from fleetcal.services.curves.member_choice import MemberChoice
from fleetcal.services.curves.pool_of_group import pool_of_group
from fleetcal.services.curves.position_error import POSITION_ERROR
from fleetcal.services.curves.quantity import PoolRequest, ReadPoints
from fleetcal.store import Store


def fit_group(store: Store, request: CurveRequest) -> FittedGroup:
    """Fit a group together with the other groups of its type, or one airframe with its group.

    A group of one or two airframes is fitted with what is supposed of ports and of the spread.

    Raises:
        UnknownNameError: If type, group or airframe are not in the store.
        FitError: If nobody flew the group, or the points determine no curve.
        DataError: If the step makes no table.
    """
    if not 0.5 <= request.step_kt <= 100.0:
        raise DataError(f"a step of {request.step_kt:g} kt makes no table", "give 0.5 to 100 kt")
    tag = tag_named(store, request.group)
    if tag is not None:
        return fit_airframe(store, request, tag)
    pool_request = PoolRequest(
        quantity=POSITION_ERROR,
        type=request.type,
        flap_setting=request.flap_setting,
        choice=request.choice,
    )
    try:
        found = pool_of_group(store, pool_request, request.group)
    except FitError:
        read = POSITION_ERROR.read(store, pool_request)
        name = named_group(read, request.group)
        if not _few(read, name, request):
            raise
        return fit_few_airframes(request, read, name)
    return fit_pool(request, found.pool, found.name)


def _few(read: ReadPoints, name: GroupName, request: CurveRequest) -> bool:
    """Tell whether one or two airframes flew a group, and nobody chose among them."""
    if request.fewest >= FEWEST_AIRCRAFT or request.choice != MemberChoice():
        return False
    flew = {row.airframe for row in read.points if name.holds(row)}
    return 0 < len(flew) < FEWEST_AIRCRAFT
