"""Which points belong together: groups of one type, equipment and flap setting."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from difflib import get_close_matches

from fleetcal.errors import DataError, UnknownNameError
from fleetcal.services.curves.group_name import GroupName, Member, group_of
from fleetcal.services.curves.large_enough import fliers_of, large_enough, too_few_words
from fleetcal.services.curves.pooled_point import PooledPoint, fleet_points
from fleetcal.services.curves.quantity import PoolRequest, ReadPoints
from fleetcal.services.curves.too_few import too_few_error
from fleetcal.services.curves.type_points import TypePoints
from fleetcal.store import (
    FleetDescription,
    Store,
    TypeDescription,
    type_of_airframe,
)


def find_type(description: FleetDescription, name: str | None) -> TypeDescription:
    """Return a type by name, or the only one.

    Raises:
        UnknownNameError: If it is not in the store.
        DataError: If none was named and the store has several or none.
    """
    names = [t.name for t in description.types]
    if name is None:
        if len(names) == 1:
            return description.types[0]
        if not names:
            raise DataError("the store describes no aircraft type", "load a fleet description")
        raise DataError(f"the store has several types: {', '.join(names)}", "name one with --type")
    return description.types[names.index(_match(name, names, "type"))]


def find_group(description: FleetDescription, kind: TypeDescription, text: str) -> GroupName:
    """Return the group of a static source that a text names.

    Args:
        text: ``static source`` or ``static source / engine / propeller``, in any case.

    Raises:
        UnknownNameError: If a part is not in the store.
        DataError: If the text has two parts or more than three.
    """
    parts = [part.strip() for part in text.split(" / ")]
    source = _match(parts[0], [s.name for s in kind.static_sources], "static source")
    if len(parts) == 1:
        return GroupName(source)
    if len(parts) != 3:
        raise DataError(
            f"{text!r} does not name a group",
            "write 'static source' or 'static source / engine / propeller'",
        )
    return GroupName(
        source,
        _match(parts[1], description.engines, "engine"),
        _match(parts[2], [one.name for one in description.propellers], "propeller"),
    )


def find_pairing(pairings: Iterable[GroupName], text: str) -> GroupName:
    """Return the pairing that a text names.

    Args:
        pairings: That were flown.
        text: ``engine / propeller``, in any case.

    Raises:
        UnknownNameError: If it is none of them.
    """
    by_name = {str(one).casefold(): one for one in sorted(set(pairings), key=str)}
    if text.strip().casefold() not in by_name:
        raise UnknownNameError(
            f"pairing {text!r} was not flown, or not by enough airframes",
            f"known: {'; '.join(map(str, by_name.values()))}" if by_name else "reduce more flights",
        )
    return by_name[text.strip().casefold()]


def named_group(read: ReadPoints, text: str) -> GroupName:
    """Return the group of a quantity that a text names, whether or not enough airframes flew it."""
    if read.quantity.by_port:
        return find_group(read.description, read.type, text)
    return find_pairing((group_of(row, by_port=False) for row in read.points), text)


def _match(name: str, known: Sequence[str], what: str) -> str:
    for candidate in known:
        if candidate.casefold() == name.strip().casefold():
            return candidate
    near = get_close_matches(name, known, n=3) or list(known)[:6]
    raise UnknownNameError(
        f"there is no {what} {name!r} in the store",
        f"known: {', '.join(near)}" if near else "load a fleet description first",
    )


def of_type_of(store: Store, tags: Sequence[str], request: PoolRequest) -> PoolRequest:
    """Return a request with the type of some airframes, unless it names one.

    Raises:
        UnknownNameError: If an airframe is not in the store.
        DataError: If they are of two types.
    """
    with store.lookup() as reader:
        types = sorted({type_of_airframe(reader, tag) for tag in tags})
    if len(types) > 1:
        raise DataError(f"airframes of two types: {', '.join(types)}", "name airframes of one type")
    return replace(request, type=request.type or (types[0] if types else None))


def gather_groups(
    store: Store, request: PoolRequest, named: Sequence[str] = ()
) -> tuple[TypePoints, tuple[GroupName, ...]]:
    """Read the accepted points of a type that nothing bars and sort them into groups.

    Every pairing of a static source is a group of its own, whatever is asked
    for, save that the pairings of a static source named alone are one group. So
    a group has the same curve under its short and its full name if its points
    are the same: the spread between airframes comes from the same other groups.

    Args:
        named: Names of the groups that are asked for; none for all, by pairing.

    Returns:
        The points of all groups with three airframes or more, and the names of the groups asked
        for.

    Raises:
        UnknownNameError: If type or a group are not in the store.
        FitError: If a group that is asked for, or every group, has fewer than three airframes.
    """
    read = request.quantity.read(store, request)
    groups = tuple(named_group(read, name) for name in named)
    return sort_points(read, groups), groups


def sort_points(read: ReadPoints, groups: Sequence[GroupName]) -> TypePoints:
    """Sort points into groups, as `gather_groups` does."""
    pooled = {group.static_source for group in groups if group.engine is None}
    members = [
        Member(row.airframe, group_of(row, row.static_source not in pooled, read.quantity.by_port))
        for row in read.points
    ]
    known = TypePoints(
        quantity=read.quantity,
        scale=read.scale,
        flown=read.flown,
        type=read.type,
        flap_setting=read.flap_setting,
        usual=read.usual,
        groups=(),
        members=(),
        points=fleet_points([], [], []),
        rows=(),
        barred=tuple(read.barred),
        rejected=tuple(read.rejected),
    )
    return sorted_into_groups(known, read.points, members, groups)


def points_of_group(
    read: ReadPoints, name: GroupName, rows: Sequence[PooledPoint] | None = None
) -> TypePoints:
    """Return the points of one group by itself, however few airframes flew it.

    Args:
        rows: Some of its points; all when None.
    """
    mine = [row for row in read.points if name.holds(row)] if rows is None else rows
    tags = sorted({row.airframe for row in mine})
    return TypePoints(
        quantity=read.quantity,
        scale=read.scale,
        flown=read.flown,
        type=read.type,
        flap_setting=read.flap_setting,
        usual=read.usual,
        groups=(name,),
        members=tuple(Member(tag, name) for tag in tags),
        points=fleet_points(mine, [tags.index(row.airframe) for row in mine], [0] * len(tags)),
        rows=tuple(mine),
        barred=tuple(read.barred),
        rejected=tuple(read.rejected),
    )


def gather_group(
    store: Store, request: PoolRequest, name: str | None
) -> tuple[TypePoints, GroupName | None]:
    """Read the points of a type for one group, or for all: as `gather_groups`."""
    known, named = gather_groups(store, request, [] if name is None else [name])
    return known, named[0] if named else None


def sorted_into_groups(
    known: TypePoints,
    rows: Sequence[PooledPoint],
    members: Sequence[Member],
    named: Sequence[GroupName],
) -> TypePoints:
    """Return points of a type with other rows, those of too small groups left out.

    Args:
        known: For the type, the flap setting and what is barred.
        members: Whose each row is.
        named: Must be large enough.

    Raises:
        FitError: If a named group, or every group, has fewer than three airframes.
    """
    airframes = fliers_of((member.group, member.airframe) for member in members)
    large = large_enough(airframes)
    missing = next((group for group in named if group not in large), None)
    if not large or missing is not None:
        raise too_few_error(airframes, missing, known)
    keep = [i for i, member in enumerate(members) if member.group in large]
    kept = [rows[i] for i in keep]
    aircraft = sorted({members[i] for i in keep}, key=lambda m: (str(m.group), m.airframe))
    number = {member: i for i, member in enumerate(aircraft)}
    points = fleet_points(
        kept,
        [number[members[i]] for i in keep],
        [large.index(member.group) for member in aircraft],
    )
    return replace(
        known,
        groups=tuple(large),
        members=tuple(aircraft),
        points=points,
        rows=tuple(kept),
        too_small=too_few_words(airframes),
        in_small_groups=frozenset(member for member in members if member.group not in large),
    )
