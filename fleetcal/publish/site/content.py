"""What the pages of the site hold, as plain values; dates are words already."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from fleetcal.plain_text import file_stem
from fleetcal.publish.pooled_table import PlottedPoint, PooledTable
from fleetcal.publish.site.content_airframe import (
    AirframePage,
    AirframeSummary,
    FlownSortie,
    airframe_path,
)
from fleetcal.publish.site.content_climbs import ClimbsPage
from fleetcal.publish.site.content_sortie import Neighbour, SortiePage

#: The verdict on an airframe none of whose points counts.
SET_ASIDE: Final = "set aside"


@dataclass(frozen=True)
class SiteFacts:
    """What stands on every page: when and by what it was made, and how finely flights are dated.

    Attributes:
        fleet: What the fleet is called in titles.
    """

    made_on: str
    program_version: str
    finest_date: str
    fleet: str = ""


@dataclass(frozen=True, kw_only=True)
class SiteGroup:
    """One group as the overview lists it; `page` is empty if it has too few airframes."""

    type: str
    group: str
    flap_setting: str
    airframes: int
    sorties: int
    points: int
    slowest_kt: float | None
    fastest_kt: float | None
    outside: int
    set_aside: int
    page: str


@dataclass(frozen=True, kw_only=True)
class MemberLine:
    """One airframe in one group, with its verdict.

    Attributes:
        low_kt, high_kt: 95 % band of the largest departure.
    """

    airframe: str
    points: int
    sorties: int
    verdict: str
    largest_departure_kt: float | None
    at_ias_kt: float | None
    reason: str
    low_kt: float | None = None
    high_kt: float | None = None

    @property
    def page(self) -> str:
        """Page of the airframe."""
        return airframe_path(self.airframe)


@dataclass(frozen=True, kw_only=True)
class CarriedLine:
    """A handbook's speed on the port of a group; `not_above_kt` is what a limit allows there."""

    speed: str
    handbook_ias_kt: float
    cas_kt: float | None
    ias_kt: float | None
    next_low_kt: float | None
    next_high_kt: float | None
    not_above_kt: float | None
    limit: bool
    note: str

    @property
    def name(self) -> str:
        """What the speed is called, and whether it is a limit."""
        return f"{self.speed} (a limit)" if self.limit else self.speed


@dataclass(frozen=True, kw_only=True)
class HandbookBlock:
    """A handbook table against a group: rows of the comparison and the carried speeds.

    Attributes:
        rows (tuple of (ias, handbook, curve, difference, low, high)): kt; None where one of them
            does not reach.
        speeds_note: Why no speed could be carried; empty otherwise.
    """

    title: str
    verdict: str
    rows: tuple[tuple[float | None, ...], ...]
    speeds: tuple[CarriedLine, ...]
    speeds_note: str
    limit_caution: str


@dataclass(frozen=True, kw_only=True)
class GroupSortie(FlownSortie):
    """One sortie as the page of its group lists it."""

    airframe: str


@dataclass(frozen=True, kw_only=True)
class GroupPage:
    """One group: its table with curve and points, its members, handbooks and issues.

    Attributes:
        outside_points: Of airframes that stand outside and are not in the table.
        sorties: That its points are from, and those of airframes set aside.
        before, after: Groups to go on to.
    """

    name: str
    table: PooledTable
    members: tuple[MemberLine, ...]
    handbooks: tuple[HandbookBlock, ...]
    issues: tuple[str, ...]
    outside_points: tuple[PlottedPoint, ...] = ()
    sorties: tuple[GroupSortie, ...] = ()
    before: Neighbour | None = None
    after: Neighbour | None = None

    @property
    def path(self) -> str:
        """Name of the file, from the root of the site."""
        return f"groups/{file_stem(self.table.type_name, self.name, self.table.flap_setting)}.html"


@dataclass(frozen=True, kw_only=True)
class Overview:
    """The fleet on one page.

    Attributes:
        sorties: How many there are.
        climb_pages: Of types with climbs or glides.
    """

    types: tuple[str, ...]
    group_lines: tuple[SiteGroup, ...]
    groups: tuple[GroupPage, ...]
    airframes: tuple[AirframeSummary, ...]
    sorties: int
    notes: tuple[str, ...]
    climb_pages: tuple[Neighbour, ...] = ()


@dataclass(frozen=True, kw_only=True)
class FleetSite:
    """All pages of a folder."""

    facts: SiteFacts
    overview: Overview
    airframes: tuple[AirframePage, ...]
    sorties: tuple[SortiePage, ...]
    climbs: tuple[ClimbsPage, ...] = ()

    @property
    def groups(self) -> tuple[GroupPage, ...]:
        """Groups with a page."""
        return self.overview.groups
