"""What is asked of a campaign of test flights, and the campaign."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from fleetcal.services.performance.plan_values import FlightPlan, OrdinaryFlights


@dataclass(frozen=True, kw_only=True)
class CampaignFlight:
    """One flight of a campaign.

    Attributes:
        flight: From 1, the next one.
        speeds_kt: To be held on the indicator, in the order of flying: the fastest first.
        speeds: The same as text.
        largest_after_kt: Half width of the largest 95 % band afterwards.
    """

    flight: int
    speeds_kt: tuple[float, ...]
    speeds: str
    largest_after_kt: float


@dataclass(frozen=True, kw_only=True)
class LastFlight:
    """What the last flight changed.

    Attributes:
        runs: Points of it that count.
        before_kt, after_kt: Largest half band without the points of that flight, and with them.
        foreseen_kt: That as many runs were foreseen to leave, at the speeds that this plan chooses.
        flown_foreseen_kt: The same, at the speeds that were really flown.
    """

    flown_on: date
    runs: int
    before_kt: float
    after_kt: float
    foreseen_kt: float
    flown_foreseen_kt: float


@dataclass(frozen=True, kw_only=True)
class Campaign:
    """Flights until an airframe's own correction is known well enough.

    Attributes:
        within_kt: Half width of the 95 % band that is well enough, at all speeds of the plan.
        slowest_kt, fastest_kt: Those speeds, as the indicator shows them.
        largest_now_kt: Largest half band now.
        largest_at_kt: Where it is.
        flown: Whether anything is known but what any static source may be.
        flights: Still to be flown; none where the aim is reached.
        reached: Whether they reach the aim; a campaign ends after so many flights all the same.
        minutes: Of the runs of one flight.
        last: What the last flight changed; None before the first.
        ordinary: What ordinary flights would leave in their place.
        next: Plan of the first of the flights.
    """

    airframe: str
    type: str
    group: str
    flap_setting: str
    weight_kg: float
    within_kt: float
    slowest_kt: int
    fastest_kt: int
    largest_now_kt: float
    largest_at_kt: float
    flown: bool
    flights: tuple[CampaignFlight, ...]
    reached: bool
    minutes: float
    last: LastFlight | None
    ordinary: OrdinaryFlights
    notes: tuple[str, ...]
    next: FlightPlan | None = None
