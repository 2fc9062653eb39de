"""How a group is named, and whose points it holds.

The name is written ``static source / engine / propeller``; the static source alone
stands for all pairings flown with it. Of a quantity that the static source has no
part in, such as a climb, the group is the pairing: ``engine / propeller``.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol


class Flown(Protocol):
    """A measurement with its equipment, pooled or as the store has it."""

    @property
    def airframe(self) -> str:
        """Tag."""

    @property
    def static_source(self) -> str:
        """Flown with."""

    @property
    def engine(self) -> str:
        """Flown with."""

    @property
    def propeller(self) -> str:
        """Flown with."""

    @property
    def reason(self) -> str:
        """Why it was rejected; empty if it was not."""

    @property
    def barred(self) -> str:
        """Why a failed leak check keeps it out; empty if none does."""


@dataclass(frozen=True)
class GroupName:
    """Name of a group; engine and propeller None for all pairings of the static source.

    Without a static source it is a pairing, whatever the static source.
    """

    static_source: str
    engine: str | None = None
    propeller: str | None = None

    def holds(self, row: Flown) -> bool:
        """Tell whether a point belongs to the group."""
        pairs = ((self.engine, row.engine), (self.propeller, row.propeller))
        same = all(named is None or named == flown for named, flown in pairs)
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


def group_of(row: Flown, by_pairing: bool = True, by_port: bool = True) -> GroupName:
    """Return the group of a point.

    Args:
        by_pairing: Whether pairings are kept apart.
        by_port: Whether static sources are.
    """
    port = row.static_source if by_port else ""
    return GroupName(port, row.engine, row.propeller) if by_pairing else GroupName(port)
