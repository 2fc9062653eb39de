"""Fit the own curve of one airframe: its points, its group where it has flown nothing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from fleetcal.errors import DataError, FitError
from fleetcal.fleet.bands import Band
from fleetcal.fleet.few_aircraft import any_port
from fleetcal.fleet.own_curve import AircraftCurve, own_curve
from fleetcal.fleet.points import Array
from fleetcal.services.curves.among_others import AmongOthers, GroupFits, among_others
from fleetcal.services.curves.count_reasons import count_reasons
from fleetcal.services.curves.few_of_group import ANY_PORT
from fleetcal.services.curves.fit_pool import weight_of
from fleetcal.services.curves.fitted_group import CurveRequest, FittedGroup
from fleetcal.services.curves.group_name import GroupName
from fleetcal.services.curves.groups import points_of_group
from fleetcal.services.curves.member_choice import MemberChoice
from fleetcal.services.curves.own_points import own_points
from fleetcal.services.curves.pool_members import Pool
from fleetcal.services.curves.pooled_point import PooledPoint
from fleetcal.services.curves.position_error import POSITION_ERROR
from fleetcal.services.curves.quantity import PoolRequest, ReadPoints
from fleetcal.store import AirframeDescription, Store, load_description


@dataclass(frozen=True)
class OwnFit:
    """The own curve of an airframe as the curve of a group of one: both bands are its own."""

    curve: AircraftCurve
    _known: dict[tuple[bytes, float], Band] = field(default_factory=dict, compare=False)

    @property
    def order(self) -> int:
        """Of the polynomial that the curve departs from."""
        return self.curve.order

    def centre(self, group: int, x: Array) -> Array:
        """Return kappa at x, shape (n,)."""
        return self.curve.centre(x)

    def mean_band(self, group: int, x: Array, level: float = 0.95) -> Band:
        """Return where the airframe's own curve lies; a table asks for the same places twice."""
        key = (x.tobytes(), level)
        if key not in self._known:
            self._known[key] = self.curve.band(x, level)
        return self._known[key]

    def next_band(self, group: int, x: Array, level: float = 0.95) -> Band:
        """Return the same: there is no other airframe."""
        return self.mean_band(group, x, level)


def tag_named(store: Store, text: str) -> str | None:
    """Return the tag of the airframe that a text names; None where it names none, or a port."""
    with store.lookup() as reader:
        description = load_description(reader)
    ports = {s.name.casefold() for kind in description.types for s in kind.static_sources}
    named = text.strip().casefold()
    if named in ports:
        return None
    return next((a.tag for a in description.airframes if a.tag.casefold() == named), None)


def fit_airframe(store: Store, request: CurveRequest, tag: str) -> FittedGroup:
    """Fit the own curve of an airframe with the equipment that it carries last.

    Raises:
        DataError: If nothing is fitted to it, or the request is one for groups.
        FitError: If neither it nor another airframe with its static source has points that count.
    """
    if request.order is not None or request.choice != MemberChoice():
        raise DataError(
            f"--order, --with and --without are for groups, and {tag} is one airframe",
            "leave them out",
        )
    return fit_known(known_of_airframe(store, request, tag))


def fit_known(found: KnownOfAirframe) -> FittedGroup:
    """Fit the own curve of an airframe from what is known of it.

    Raises:
        FitError: As `fit_airframe`.
    """
    tag = found.tag
    if found.set_aside and not found.rows:
        raise _set_aside(tag, found.set_aside)
    if not found.rows and found.others.group is None:
        raise FitError(
            f"{tag} has no points with flaps {found.request.flap_setting}, and nobody has with "
            f"{found.name.static_source}",
            f"reduce a flight of it: 'fleetcal reduce LOG --airframe {tag}'",
        )
    return found.fitted()


@dataclass(frozen=True, kw_only=True)
class KnownOfAirframe:
    """What the points of a store say of one airframe, with the equipment that it carries last.

    Attributes:
        rows: Its own points; may be none.
        set_aside: Its points that were kept out or rejected.
    """

    tag: str
    request: CurveRequest
    read: ReadPoints
    name: GroupName
    rows: tuple[PooledPoint, ...]
    set_aside: tuple[PooledPoint, ...]
    others: AmongOthers

    def fitted(self) -> FittedGroup:
        """Fit its own curve; by what is known of any port where nobody has flown."""
        return own_fit(self.request, self.read, self.name, self.rows, self.others)


def known_of_airframe(store: Store, request: CurveRequest, tag: str) -> KnownOfAirframe:
    """Return what is known of an airframe, be it nothing.

    Raises:
        DataError: If nothing is fitted to it.
    """
    with store.lookup() as reader:
        description = load_description(reader)
    airframe = next(one for one in description.airframes if one.tag == tag)
    chosen = PoolRequest(
        quantity=POSITION_ERROR, type=airframe.type, flap_setting=request.flap_setting
    )
    groups = GroupFits(request, POSITION_ERROR.read(store, chosen))
    return known_among(groups, request, airframe)


def known_among(
    groups: GroupFits, request: CurveRequest, airframe: AirframeDescription
) -> KnownOfAirframe:
    """Return what is known of an airframe from points that were read before.

    Args:
        groups: Of the airframe's type at the flap setting of the request.

    Raises:
        DataError: If nothing is fitted to it.
    """
    read, tag, name = groups.read, airframe.tag, carried_group(airframe)
    rows = [row for row in read.points if row.airframe == tag and name.holds(row)]
    out = [row for row in (*read.barred, *read.rejected) if row.airframe == tag]
    return KnownOfAirframe(
        tag=tag,
        request=request,
        read=read,
        name=name,
        rows=tuple(rows),
        set_aside=tuple(out),
        others=among_others(groups, name, tag),
    )


def own_fit(
    request: CurveRequest,
    read: ReadPoints,
    name: GroupName,
    rows: Sequence[PooledPoint],
    others: AmongOthers,
) -> FittedGroup:
    """Join the points of one airframe with what the others say of it.

    Args:
        name: Of what the airframe carries.
        rows: Its points with that; may be none.
    """
    own = own_points(rows)
    known, group = points_of_group(read, name, rows), others.group
    theirs = () if group is None or others.outside else group.rows
    return FittedGroup(
        request=request,
        known=known,
        name=name,
        number=0,
        fit=OwnFit(own_curve(others.before or any_port(ANY_PORT, own.x), own)),
        weight_kg=weight_of(request, read.type),
        check=None,
        pool=Pool(known),
        airframe=others.airframe,
        support=tuple({row.number: row for row in (*rows, *theirs)}.values()),
        group=None if others.outside else group,
    )


def _set_aside(tag: str, out: Sequence[PooledPoint]) -> FitError:
    """Return the error on an airframe whose points were all kept out: no group stands for it."""
    why = "; ".join(count_reasons((row.airframe, row.barred or row.reason) for row in out))
    return FitError(
        f"{tag} has no correction: {why}. What others of its group read does not hold for it",
        "mend what is wrong, enter it, and reduce a new flight of it",
    )


def carried_group(airframe: AirframeDescription) -> GroupName:
    """Return the group of what an airframe carries last.

    Raises:
        DataError: If nothing is fitted to it.
    """
    if not airframe.fits:
        raise DataError(f"nothing is fitted to {airframe.tag}", "enter its equipment")
    last = max(airframe.fits, key=lambda fit: fit.from_date)
    return GroupName(last.static_source, last.engine, last.propeller)
