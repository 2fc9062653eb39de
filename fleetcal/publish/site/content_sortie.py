"""What the page of a sortie holds, as plain values; dates are words already."""

from __future__ import annotations

from dataclasses import dataclass

from fleetcal.records import Leg, Point


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


@dataclass(frozen=True)
class Neighbour:
    """Another page to go on to."""

    name: str
    path: str


@dataclass(frozen=True, kw_only=True)
class RunPicture:
    """Ground vectors of one run with the wind and the true airspeed found, kt.

    Attributes:
        legs: Number of each leg within the run.
        residuals_kt: Of each leg, positive where its tip lies outside the circle; empty if none
            is known.
    """

    run: int
    legs: tuple[int, ...]
    ias_kt: float
    tas_kt: float
    wind_east_kt: float
    wind_north_kt: float
    tips: tuple[tuple[float, float], ...]
    residuals_kt: tuple[float | None, ...] = ()


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
    mean_wind: str = ""
    facts: tuple[tuple[str, str], ...] = ()
    groups: tuple[Neighbour, ...] = ()
    before: Neighbour | None = None
    after: Neighbour | None = None

    @property
    def path(self) -> str:
        """Name of the file, from the root of the site."""
        return sortie_path(self.number)


def sortie_path(number: int) -> str:
    """Return the name of a sortie's file, from the root of the site."""
    return f"sorties/{number}.html"
