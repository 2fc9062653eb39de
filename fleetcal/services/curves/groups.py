"""Groups: which points belong together, and how a group is named.

A group is one type, static source, engine/propeller pairing and flap setting.
Its name is written ``static source / engine / propeller``; the static source
alone stands for all pairings flown with it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from difflib import get_close_matches

from fleetcal.errors import DataError, FitError, UnknownNameError
from fleetcal.fleet.points import FleetPoints
from fleetcal.fleet.pooled import FEWEST_AIRCRAFT
from fleetcal.services.curves.large_enough import fliers_of, large_enough, too_few_words
from fleetcal.services.curves.point_arrays import point_arrays
from fleetcal.services.curves.quantity import POSITION_ERROR, Quantity
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


@dataclass(frozen=True)
class TypePoints:
    """Accepted points of a type at one flap setting.

    Attributes
    ----------
    type : TypeDescription
    flap_setting : str
    groups : tuple of GroupName
    members : tuple of Member
        One for each aircraft number of `points`.
    points : FleetPoints
    rows : tuple of PointRow
        In the order of `points`.
    too_small : tuple of str
        Groups left out because fewer than three airframes flew them.
    barred : tuple of PointRow
        Accepted points that a failed leak check keeps out.
    quantity : Quantity
        What the points measure.
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

    Parameters
    ----------
    description : FleetDescription
    name : str or None

    Returns
    -------
    TypeDescription

    Raises
    ------
    UnknownNameError
        If it is not in the store.
    DataError
        If none was named and the store has several or none.
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

    Parameters
    ----------
    description : FleetDescription
    kind : TypeDescription
    text : str
        ``static source`` or ``static source / engine / propeller``, in any case.

    Returns
    -------
    GroupName

    Raises
    ------
    UnknownNameError
        If a part is not in the store.
    DataError
        If the text has two parts or more than three.
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
        _match(parts[2], description.propellers, "propeller"),
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


def count_reasons(points: Iterable[tuple[str, str]], what: str = "point") -> tuple[str, ...]:
    """Return in words how many points of which airframe are left out for which reason.

    Parameters
    ----------
    points : iterable of (airframe, reason)
        One for each point.
    what : str
        Is counted.

    Returns
    -------
    tuple of str
        By airframe, without a full stop.
    """
    return tuple(
        f"{count} {what}{'s' if count > 1 else ''} of {airframe}: {reason}"
        for (airframe, reason), count in sorted(Counter(points).items())
    )


def rejected_points(
    store: Store, known: TypePoints, group: GroupName | None = None, tag: str | None = None
) -> list[PointRow]:
    """Return the points of a type that somebody rejected.

    Parameters
    ----------
    store : Store
    known : TypePoints
        For the type and the flap setting.
    group : GroupName, optional
        Only of this group.
    tag : str, optional
        Only of this airframe.

    Returns
    -------
    list of PointRow
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
    """Read the accepted points of a type that nothing bars and sort them into groups.

    Parameters
    ----------
    store : Store
    type_name : str or None
        The only type when None.
    flap_setting : str
    wanted : str, optional
        Name of the group that is asked for; decides whether pairings are kept
        apart (``port / engine / propeller``, also when None) or pooled (``port``).

    Returns
    -------
    tuple
        The points of all groups with three airframes or more, and the name of
        the wanted group.

    Raises
    ------
    UnknownNameError
        If type or group are not in the store.
    FitError
        If the wanted group, or every group, has fewer than three airframes.
    """
    with store.reading() as session:
        description = load_description(session)
        kind = find_type(description, type_name)
        group = find_group(description, kind, wanted) if wanted is not None else None
        rows = select_points(
            session, PointFilter(type=kind.name, flap_setting=flap_setting, accepted=True)
        )
    by_pairing = group is None or group.engine is not None
    free = [row for row in rows if not row.barred]
    barred = tuple(row for row in rows if row.barred)
    return _sorted_into_groups(kind, flap_setting, free, by_pairing, group, barred), group


def _sorted_into_groups(
    kind: TypeDescription,
    flap_setting: str,
    rows: Sequence[PointRow],
    by_pairing: bool,
    wanted: GroupName | None,
    barred: tuple[PointRow, ...],
) -> TypePoints:
    members = [Member(row.airframe, group_of(row, by_pairing)) for row in rows]
    airframes = fliers_of((member.group, member.airframe) for member in members)
    large = large_enough(airframes)
    if not large or (wanted is not None and wanted not in large):
        raise _too_few(airframes, wanted, flap_setting, barred)
    keep = [i for i, member in enumerate(members) if member.group in large]
    return TypePoints(
        kind,
        flap_setting,
        tuple(large),
        *fleet_points(kind, [rows[i] for i in keep], [members[i] for i in keep], large),
        too_few_words(airframes),
        barred,
    )


def _barred_words(barred: Sequence[PointRow], wanted: GroupName | None) -> str:
    tags = sorted({row.airframe for row in barred if wanted is None or wanted.holds(row)})
    return f" (barred by failed leak checks: {', '.join(tags)})" if tags else ""


def _too_few(
    airframes: dict[GroupName, set[str]],
    wanted: GroupName | None,
    flap_setting: str,
    barred: Sequence[PointRow],
) -> FitError:
    hint = "reduce flights of more airframes"
    kept_out = _barred_words(barred, wanted)
    if wanted is None:
        count = max(map(len, airframes.values()), default=0)
        what = f"no group has accepted points of {FEWEST_AIRCRAFT} airframes"
        return FitError(
            f"{what} with flaps {flap_setting}; the largest has {count}{kept_out}", hint
        )
    if wanted.engine is not None:
        hint += ", or name the static source alone to pool all pairings"
    count = len(airframes.get(wanted, set()))
    return FitError(
        f"{wanted}: accepted points with flaps {flap_setting} of {count} of the "
        f"{FEWEST_AIRCRAFT} airframes that a pooled curve needs{kept_out}",
        hint,
    )


def group_of(row: PointRow, by_pairing: bool = True) -> GroupName:
    """Return the group of a point.

    Parameters
    ----------
    row : PointRow
    by_pairing : bool
        Whether pairings are kept apart.

    Returns
    -------
    GroupName
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

    Parameters
    ----------
    kind : TypeDescription
    rows : sequence of PointRow
    members : sequence of Member
        Whose each point is.
    groups : sequence of GroupName

    Returns
    -------
    tuple
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
