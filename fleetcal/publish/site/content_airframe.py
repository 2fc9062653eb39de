"""What the page of an airframe holds, as plain values; dates are words already."""

from __future__ import annotations

from dataclasses import dataclass

from fleetcal.plain_text import file_stem
from fleetcal.publish.pooled_table import PlottedPoint, PooledTable
from fleetcal.publish.site.content_climbs import OwnRates
from fleetcal.publish.site.content_sortie import Neighbour, SitePoint, sortie_path
from fleetcal.publish.watch_picture import WatchPicture


@dataclass(frozen=True, kw_only=True)
class SiteFit:
    """What an airframe carries from a date on."""

    since: str
    static_source: str
    engine: str
    propeller: str
    pitot: str


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
        others: Points of the other airframes of the group.
        group_band (sequence of (ias_kt, low_kt, high_kt)): 95 % band for another aircraft of it.
    """

    flap_setting: str
    table: PooledTable | None
    group: str
    group_page: str
    why: str = ""
    others: tuple[PlottedPoint, ...] = ()
    group_band: tuple[tuple[float, float, float], ...] = ()


@dataclass(frozen=True, kw_only=True)
class FlownSortie:
    """One sortie of an airframe as its page lists it; `wind` is in words."""

    number: int
    flown: str
    technique: str
    flap_setting: str
    points: int
    used: int
    wind: str

    @property
    def page(self) -> str:
        """Its page."""
        return sortie_path(self.number)


@dataclass(frozen=True, kw_only=True)
class AirframeSummary:
    """One airframe as the overview needs it.

    Attributes:
        alarms: What its watch found, in sentences; empty if its error did not change.
    """

    tag: str
    type: str
    fits: tuple[SiteFit, ...]
    standings: tuple[GroupStanding, ...]
    points: tuple[SitePoint, ...]
    verdict: str
    alarms: tuple[str, ...] = ()

    @property
    def path(self) -> str:
        """Name of the file, from the root of the site."""
        return airframe_path(self.tag)


@dataclass(frozen=True, kw_only=True)
class AirframePage(AirframeSummary):
    """One airframe: its answer, fits, standings, points, changes, and its flights in order."""

    registration: str
    note: str
    changes: tuple[ChangeBlock, ...]
    watches: tuple[WatchBlock, ...] = ()
    own: tuple[OwnAnswer, ...] = ()
    sorties: tuple[FlownSortie, ...] = ()
    rates: tuple[OwnRates, ...] = ()
    before: Neighbour | None = None
    after: Neighbour | None = None


def airframe_path(tag: str) -> str:
    """Return the name of an airframe's file, from the root of the site."""
    return f"airframes/{file_stem(tag)}.html"
