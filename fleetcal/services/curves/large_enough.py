"""Which groups were flown by enough airframes for a pooled curve."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from typing import TypeVar

from fleetcal.fleet.fewest import FEWEST_AIRCRAFT
from fleetcal.wording import counted

Name = TypeVar("Name")


def fliers_of(flown: Iterable[tuple[Name, str]]) -> dict[Name, set[str]]:
    """Return the airframes that flew in each group.

    Args:
        flown (iterable of (group, tag)): Groups by any name that prints.
    """
    fliers: dict[Name, set[str]] = {}
    for group, tag in flown:
        fliers.setdefault(group, set()).add(tag)
    return fliers


def large_enough(fliers: Mapping[Name, set[str]]) -> list[Name]:
    """Return the groups that enough airframes flew for a pooled curve, by name."""
    return sorted((g for g, tags in fliers.items() if enough_fly(tags)), key=str)


def enough_fly(tags: Collection[str]) -> bool:
    """Tell whether a group that so many airframes flew has a pooled curve."""
    return len(tags) >= FEWEST_AIRCRAFT


def too_few_words(fliers: Mapping[Name, set[str]]) -> tuple[str, ...]:
    """Say of the other groups how few airframes flew them, by name."""
    small = sorted(fliers.keys() - set(large_enough(fliers)), key=str)
    return tuple(f"{g}: flown by {counted(len(fliers[g]), 'airframe')} only" for g in small)
