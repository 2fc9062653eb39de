"""What the pages of the site hold, as plain values; dates are words already."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from fleetcal.plain_text import file_stem
from fleetcal.publish.pooled_table import PlottedPoint, PooledTable
from fleetcal.publish.watch_picture import WatchPicture
from fleetcal.records import Leg, Point

#: The verdict on an airframe none of whose points counts.
SET_ASIDE: Final = "set aside"


@dataclass(frozen=True)
class SiteFacts:
    """What stands on every page: when and by what it was made, and how finely flights are dated."""

    made_on: str
    program_version: str
    finest_date: str


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
    """One airframe in one group, with its verdict."""

    airframe: str
    points: int
    sorties: int
    verdict: str
    largest_departure_kt: float | None
    at_ias_kt: float | None
    reason: str

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
class GroupPage:
    """One group: its table with curve and points, its members, handbooks and issues.

    `outside_points` are those of airframes that stand outside and are not in the table.
    """

    name: str
    table: PooledTable
    members: tuple[MemberLine, ...]
    handbooks: tuple[HandbookBlock, ...]
    issues: tuple[str, ...]
    outside_points: tuple[PlottedPoint, ...] = ()

    @property
    def path(self) -> str:
        """Name of the file, from the root of the site."""
        return f"groups/{file_stem(self.table.type_name, self.name, self.table.flap_setting)}.html"


@dataclass(frozen=True, kw_only=True)
class SiteFit:
    """What an airframe carries from a date on."""

    since: str
    static_source: str
    engine: str
    propeller: str
    pitot: str


@dataclass(frozen=True, kw_only=True)
class SitePoint(Point):
    """One point as it is listed: when and in which sortie it was flown.

    `out` says why it is in no pool, and is empty if it is in one.
    """

    flown: str
    sortie: int
    group: str
    out: str

    @property
    def page(self) -> str:
        """Page of its sortie."""
        return sortie_path(self.sortie)

    @property
    def in_pool(self) -> str:
        """Whether it is in a pool, in a word."""
        return "no" if self.out else "yes"


@dataclass(frozen=True, kw_only=True)
class GroupStanding:
    """Where an airframe stands in one group; `rows` are (ias, departure, low, high) in kt.

    `points` are its own, in the pool or not; `why_aside` says of one set aside why
    its points do not count, and is empty otherwise.
    """

    group: str
    group_page: str
    table: PooledTable
    verdict: str
    reason: str
    rows: tuple[tuple[float, float, float, float], ...]
    points: tuple[PlottedPoint, ...]
    largest_departure_kt: float | None
    at_ias_kt: float | None
    why_aside: str


@dataclass(frozen=True)
class ChangeBlock:
    """Whether a change changed the error; rows (ias, before, after, difference, low, high)."""

    question: str
    verdict: str
    rows: tuple[tuple[float, ...], ...]


@dataclass(frozen=True, kw_only=True)
class WatchLine:
    """One flight of a watch; `sortie` is its page."""

    flight: int
    flown: str
    points: int
    from_own_kt: float
    low_kt: float
    high_kt: float
    mark: str
    sortie: str


@dataclass(frozen=True, kw_only=True)
class WatchBlock:
    """The flights of an airframe in order, and whether its error changed.

    `notes` say how large changes are, and what the answer rests on.
    """

    picture: WatchPicture
    flights: tuple[WatchLine, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class OwnAnswer:
    """What an airframe's own curve says at one flap setting.

    Attributes:
        table: None if there is no answer, which `why` then says.
        group: That it was joined with; empty without one.
        group_page: Empty if the group has no page.
    """

    flap_setting: str
    table: PooledTable | None
    group: str
    group_page: str
    why: str = ""


@dataclass(frozen=True, kw_only=True)
class AirframePage:
    """One airframe: its answer, fits, standings, points, changes, and its flights in order."""

    tag: str
    type: str
    registration: str
    note: str
    fits: tuple[SiteFit, ...]
    standings: tuple[GroupStanding, ...]
    points: tuple[SitePoint, ...]
    changes: tuple[ChangeBlock, ...]
    verdict: str
    watches: tuple[WatchBlock, ...] = ()
    own: tuple[OwnAnswer, ...] = ()

    @property
    def path(self) -> str:
        """Name of the file, from the root of the site."""
        return airframe_path(self.tag)


@dataclass(frozen=True, kw_only=True)
class RunPicture:
    """Ground vectors of one run with the wind and the true airspeed found, kt.

    Attributes:
        legs: Number of each leg within the run.
    """

    run: int
    legs: tuple[int, ...]
    ias_kt: float
    tas_kt: float
    wind_east_kt: float
    wind_north_kt: float
    tips: tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class TermLine:
    """One term of the budget: its share of u(correction) at each point, kt."""

    name: str
    owner: str
    shares_kt: tuple[float | None, ...]


@dataclass(frozen=True, kw_only=True)
class SortiePage:
    """One sortie: legs, ground vectors, points and their budget."""

    number: int
    airframe: str
    airframe_page: str
    flown: str
    technique: str
    flap_setting: str
    weight_kg: float
    track_reference: str
    barred: str
    points: tuple[SitePoint, ...]
    legs: tuple[Leg, ...]
    runs: tuple[RunPicture, ...]
    terms: tuple[TermLine, ...]
    wind: tuple[str, ...] = ()

    @property
    def path(self) -> str:
        """Name of the file, from the root of the site."""
        return sortie_path(self.number)


def airframe_path(tag: str) -> str:
    """Return the name of an airframe's file, from the root of the site."""
    return f"airframes/{file_stem(tag)}.html"


def sortie_path(number: int) -> str:
    """Return the name of a sortie's file, from the root of the site."""
    return f"sorties/{number}.html"


@dataclass(frozen=True, kw_only=True)
class FleetSite:
    """The whole site."""

    facts: SiteFacts
    types: tuple[str, ...]
    group_lines: tuple[SiteGroup, ...]
    groups: tuple[GroupPage, ...]
    airframes: tuple[AirframePage, ...]
    sorties: tuple[SortiePage, ...]
    notes: tuple[str, ...]
