"""What stands before and after a page, and the sorties of an airframe as its page lists them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import TypeVar

from fleetcal.publish.site.content import GroupPage
from fleetcal.publish.site.content_airframe import FlownSortie, airframe_path
from fleetcal.publish.site.content_sortie import Neighbour, sortie_path
from fleetcal.services.publishing.discretion import Discretion
from fleetcal.store import StoredPoint
from fleetcal.wording import decimal

T = TypeVar("T")


def sortie_lines(rows: Sequence[StoredPoint], discretion: Discretion) -> tuple[FlownSortie, ...]:
    """Return the sorties of an airframe, oldest first.

    Args:
        rows: All its points.
    """
    flown: dict[int, list[StoredPoint]] = {}
    for row in rows:
        flown.setdefault(row.sortie_id, []).append(row)
    lines = sorted(flown.items(), key=lambda one: (one[1][0].flown_on, one[0]))
    return tuple(
        FlownSortie(
            number=number,
            flown=discretion.day(own[0].flown_on),
            technique=own[0].technique,
            flap_setting=own[0].flap_setting,
            points=len(own),
            used=sum(row.accepted and not row.barred for row in own),
            wind=mean_wind(own),
        )
        for number, own in lines
    )


def mean_wind(rows: Sequence[StoredPoint]) -> str:
    """Return the mean of the winds that points were solved with, or nothing."""
    known = [
        (row.wind_speed_kt, math.radians(row.wind_from_deg))
        for row in rows
        if row.wind_speed_kt is not None and row.wind_from_deg is not None
    ]
    if not known:
        return ""
    east = sum(speed * math.sin(coming) for speed, coming in known) / len(known)
    north = sum(speed * math.cos(coming) for speed, coming in known) / len(known)
    coming = math.degrees(math.atan2(east, north)) % 360.0
    speed = math.hypot(east, north)
    return f"{decimal(speed, 0)} kt from {round(coming) or 360:03d}\u00b0"


def around_airframe(tags: Sequence[str], tag: str) -> tuple[Neighbour | None, Neighbour | None]:
    """Return the airframes before and after one, in the order of their list."""
    before, after = _around(tags, tags.index(tag))
    return (
        None if before is None else Neighbour(before, airframe_path(before)),
        None if after is None else Neighbour(after, airframe_path(after)),
    )


def around_groups(groups: Sequence[GroupPage]) -> tuple[GroupPage, ...]:
    """Return groups with what stands before and after each."""
    links = [Neighbour(group.name, group.path) for group in groups]
    around = [_around(links, place) for place in range(len(links))]
    return tuple(
        replace(group, before=before, after=after)
        for group, (before, after) in zip(groups, around, strict=True)
    )


def around_sortie(
    rows: Sequence[StoredPoint], number: int
) -> tuple[Neighbour | None, Neighbour | None]:
    """Return the sorties of an airframe before and after one of them.

    Args:
        rows: All points of the airframe.
    """
    numbers = [one for _, one in sorted({(row.flown_on, row.sortie_id) for row in rows})]
    before, after = _around(numbers, numbers.index(number))
    return (
        None if before is None else _sortie(before),
        None if after is None else _sortie(after),
    )


def _around(listed: Sequence[T], place: int) -> tuple[T | None, T | None]:
    """Return what stands before and after a place."""
    before = listed[place - 1] if place > 0 else None
    after = listed[place + 1] if place + 1 < len(listed) else None
    return before, after


def _sortie(number: int) -> Neighbour:
    return Neighbour(f"sortie {number}", sortie_path(number))
