"""Groups: which points belong together, and how a group is named.

A group is one type, static source, engine/propeller pairing and flap setting.
Its name is written ``static source / engine / propeller``; the static source
alone stands for all pairings flown with it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from difflib import get_close_matches

from fleetcal.errors import DataError, UnknownNameError
from fleetcal.fleet.points import FleetPoints
from fleetcal.services.curves.count_reasons import count_reasons
from fleetcal.services.curves.large_enough import fliers_of, large_enough, too_few_words
from fleetcal.services.curves.point_arrays import point_arrays
from fleetcal.services.curves.quantity import POSITION_ERROR, Quantity
from fleetcal.services.curves.too_few import too_few_error
from fleetcal.store import (
    FleetDescription,
    PointFilter,
    PointRow,
    Store,
    TypeDescription,
    load_description,
    select_points,
)


@dataclass(frozen=True)
class GroupName:
    """Name of a group; engine and propeller None for all pairings of the port.

    Without a static source it is a pairing whatever the port, as of climbs.
    """

    static_source: str
    engine: str | None = None
    propeller: str | None = None

    def holds(self, row: PointRow) -> bool:
        """Tell whether a point belongs to the group."""
        pairs = ((self.engine, row.engine), (self.propeller, row.propeller))
        same = all(wanted is None or wanted == flown for wanted, flown in pairs)
        return same and self.static_source in ("", row.static_source)

    def __str__(self) -> str:
        if self.engine is None or self.propeller is None:
            return self.static_source
        named = (self.static_source, self.engine, self.propeller)
        return " / ".join(part for part in named if part)


@dataclass(frozen=True)
class Member:
    """One airframe in one group; an airframe that changed its fit is in several."""

    airframe: str
    group: GroupName


@dataclass(frozen=True, kw_only=True)
class TypePoints:
    """Accepted points of a type at one flap setting.

    Attributes:
        members: One for each aircraft number of `points`.
        rows: In the order of `points`.
        too_small: Groups left out because fewer than three airframes flew them.
        barred: Accepted points that a failed leak check keeps out.
        quantity: What the points measure.
        in_small_groups: Who flew the groups that are too small.
    """

    type: TypeDescription
    flap_setting: str
    groups: tuple[GroupName, ...]
    members: tuple[Member, ...]
    points: FleetPoints
    rows: tuple[PointRow, ...]
    too_small: tuple[str, ...]
    barred: tuple[PointRow, ...] = ()
    quantity: Quantity = POSITION_ERROR
    in_small_groups: frozenset[Member] = frozenset()

    def rows_of(self, group: int) -> list[PointRow]:
        """Return the points of one group."""
        owner = self.points.group_of[self.points.aircraft]
        return [row for row, g in zip(self.rows, owner, strict=True) if g == group]

    def barred_of(self, group: GroupName | None) -> tuple[str, ...]:
        """Return what is barred of a group, or of all, a sentence for each airframe and reason."""
        rows = [row for row in self.barred if group is None or group.holds(row)]
        return count_reasons((row.airframe, row.barred) for row in rows)


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
    """Return the group that a text names.

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


def _match(name: str, known: Sequence[str], what: str) -> str:
    for candidate in known:
        if candidate.casefold() == name.strip().casefold():
            return candidate
    near = get_close_matches(name, known, n=3) or list(known)[:6]
    raise UnknownNameError(
        f"there is no {what} {name!r} in the store",
        f"known: {', '.join(near)}" if near else "load a fleet description first",
    )


def rejected_points(
    store: Store, known: TypePoints, group: GroupName | None = None, tag: str | None = None
) -> list[PointRow]:
    """Return the points of a type that somebody rejected.

    Args:
        known: For the type and the flap setting.
        group: Only of this group.
        tag: Only of this airframe.
    """
    wanted = PointFilter(
        airframe=tag, type=known.type.name, flap_setting=known.flap_setting, accepted=False
    )
    with store.reading() as session:
        rows = select_points(session, wanted)
    return [row for row in rows if group is None or group.holds(row)]


def gather_points(
    store: Store,
    type_name: str | None,
    flap_setting: str,
    wanted: str | None = None,
) -> tuple[TypePoints, GroupName | None]:
    """Read the points of a type for one group, or for all: as `gather_groups`.

    Returns:
        The points of all groups, and the name of the wanted group.
    """
    known, named = gather_groups(store, type_name, flap_setting, [] if wanted is None else [wanted])
    return known, named[0] if named else None


def gather_groups(
    store: Store, type_name: str | None, flap_setting: str, wanted: Sequence[str]
) -> tuple[TypePoints, tuple[GroupName, ...]]:
    """Read the accepted points of a type that nothing bars and sort them into groups.

    Every pairing of a static source is a group of its own, whatever is asked
    for, save that the pairings of a static source named alone are one group. So
    a group has the same curve under its short and its full name if its points
    are the same: the spread between airframes comes from the same other groups.

    Args:
        type_name: The only type when None.
        wanted: Names of the groups that are asked for; none for all, by pairing.

    Returns:
        The points of all groups with three airframes or more, and the names of the wanted groups.

    Raises:
        UnknownNameError: If type or a group are not in the store.
        FitError: If a wanted group, or every group, has fewer than three airframes.
    """
    with store.reading() as session:
        description = load_description(session)
        kind = find_type(description, type_name)
        named = tuple(find_group(description, kind, name) for name in wanted)
        rows = select_points(
            session, PointFilter(type=kind.name, flap_setting=flap_setting, accepted=True)
        )
    pooled = {group.static_source for group in named if group.engine is None}
    known = TypePoints(
        type=kind,
        flap_setting=flap_setting,
        groups=(),
        members=(),
        points=point_arrays(kind, [], [], []),
        rows=(),
        too_small=(),
        barred=tuple(row for row in rows if row.barred),
    )
    free = [row for row in rows if not row.barred]
    members = [Member(row.airframe, group_of(row, row.static_source not in pooled)) for row in free]
    return sorted_into_groups(known, free, members, named), named


def sorted_into_groups(
    known: TypePoints,
    rows: Sequence[PointRow],
    members: Sequence[Member],
    wanted: Sequence[GroupName],
) -> TypePoints:
    """Return points of a type with other rows, those of too small groups left out.

    Args:
        known: For the type, the flap setting and what is barred.
        members: Whose each row is.
        wanted: Must be large enough.

    Raises:
        FitError: If a wanted group, or every group, has fewer than three airframes.
    """
    airframes = fliers_of((member.group, member.airframe) for member in members)
    large = large_enough(airframes)
    missing = next((group for group in wanted if group not in large), None)
    if not large or missing is not None:
        barred = {r.airframe for r in known.barred if missing is None or missing.holds(r)}
        raise too_few_error(airframes, missing, known.flap_setting, barred)
    keep = [i for i, member in enumerate(members) if member.group in large]
    aircraft, points, kept = fleet_points(
        known.type, [rows[i] for i in keep], [members[i] for i in keep], large
    )
    return replace(
        known,
        groups=tuple(large),
        members=aircraft,
        points=points,
        rows=kept,
        too_small=too_few_words(airframes),
        in_small_groups=frozenset(member for member in members if member.group not in large),
    )


def group_of(row: PointRow, by_pairing: bool = True) -> GroupName:
    """Return the group of a point.

    Args:
        by_pairing: Whether pairings are kept apart.
    """
    if by_pairing:
        return GroupName(row.static_source, row.engine, row.propeller)
    return GroupName(row.static_source)


def fleet_points(
    kind: TypeDescription,
    rows: Sequence[PointRow],
    members: Sequence[Member],
    groups: Sequence[GroupName],
) -> tuple[tuple[Member, ...], FleetPoints, tuple[PointRow, ...]]:
    """Return the points of some groups as arrays, with their members numbered.

    Args:
        members: Whose each point is.

    Returns:
        The members by number, the arrays, and the points in their order.
    """
    aircraft = sorted(set(members), key=lambda m: (str(m.group), m.airframe))
    number = {member: i for i, member in enumerate(aircraft)}
    points = point_arrays(
        kind,
        rows,
        [number[member] for member in members],
        [groups.index(member.group) for member in aircraft],
    )
    return tuple(aircraft), points, tuple(rows)
