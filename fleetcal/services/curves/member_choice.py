"""Which airframes somebody keeps in a pool, or takes out of it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class MemberChoice:
    """A choice of airframes, by tag.

    Attributes:
        kept: Stay in even if they stand outside.
        taken_out: Leave, wherever they stand.
    """

    kept: tuple[str, ...] = ()
    taken_out: tuple[str, ...] = ()
