"""What is asked of a plan, and the plan.

Tolerances, times and margins are common practice, no published source.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from fleetcal.services.performance.planned_legs import PlannedLeg
from fleetcal.services.performance.settle_question import Outlook


@dataclass(frozen=True, kw_only=True)
class PlanRequest:
    """What is to be planned.

    Attributes:
        points: Runs to fly.
        sorties: Over which they are split; chosen by what each way leaves if None.
        flap_setting: Flaps up if None, with a note where another setting is known less.
        weight_kg: Expected weight; the reference weight if None.
        altitude_ft: Pressure altitude.
        wind_from_deg, wind_kt: Expected, for headings and ground speeds.
        rough_air: Whether nothing above the manoeuvring speed is wanted.
        question: ``standing`` or ``change``: how many such sorties settle it.
        fastest_kt: Nothing faster is proposed: level flight, or what the test programme has opened.
        own: Whether to plan by the airframe's own curve where it has a large group too.
    """

    airframe: str
    points: int = 4
    sorties: int | None = None
    flap_setting: str | None = None
    weight_kg: float | None = None
    altitude_ft: float = 4000.0
    wind_from_deg: float | None = None
    wind_kt: float | None = None
    rough_air: bool = False
    question: str | None = None
    fastest_kt: float | None = None
    own: bool = False


@dataclass(frozen=True, kw_only=True)
class PlannedRun:
    """One speed of the card, in the order of flying: of each sortie the fastest first.

    Attributes:
        sortie: From 1.
        ias_kt: To be held on the indicator, its own bench correction allowed for.
        repeats: Runs at this speed.
        helps: Place by how much it helps; what to keep of a flight cut short.
        after_kt: Half the width of the 95 % band of the airframe's own correction at that speed,
            now (None if nothing is known) and after the plan.
        legs: In the order to fly them, which alternates from run to run to save a turn; a run flown
            again goes the other way round.
    """

    order: int
    sortie: int
    ias_kt: float
    repeats: int
    helps: int
    before_kt: float | None
    after_kt: float
    smooth_air_only: bool
    legs: tuple[PlannedLeg, ...]


@dataclass(frozen=True, kw_only=True)
class SortiesWeighed:
    """What the same number of runs leaves when it is split over so many sorties.

    Attributes:
        runs: In each sortie.
        largest_after_kt: Largest half width of the 95 % band over the speeds that may be flown.
        proposed: Whether the plan is this one.
    """

    sorties: int
    runs: tuple[int, ...]
    largest_after_kt: float
    proposed: bool


@dataclass(frozen=True, kw_only=True)
class OrdinaryFlights:
    """What so many flights that nobody flies for a test would leave.

    Attributes:
        largest_after_kt: As of `SortiesWeighed`.
        learnt_from: Ordinary flights in the store that it is learnt from; 0 where it is supposed,
            by simulated flights.
    """

    flights: int
    largest_after_kt: float
    learnt_from: int


@dataclass(frozen=True, kw_only=True)
class PlanLimit:
    """A limit of the type on the port that is fitted.

    Attributes:
        usable_kt: Not to be passed, as the indicator shows it: the low edge of the band, rounded
            down; the lower of what is known where it cannot be carried.
        ias_kt, low_kt, high_kt: IAS by the group's mean, and its 95 % band for another aircraft.
        because: Sources, and how it was carried.
    """

    kind: str
    name: str
    usable_kt: int
    ias_kt: float | None
    low_kt: float | None
    high_kt: float | None
    because: str


@dataclass(frozen=True, kw_only=True)
class FlightPlan:
    """The plan of the next flight, or of a few.

    Attributes:
        minutes: For the runs of all sorties, without the flights to the place and back.
        weighed: Ways to split the runs over sorties.
        ordinary: What ordinary flights would leave instead.
        slowest_kt, fastest_kt: Bounds of what is proposed: 1.3 times the stall speed, and the
            fastest speed permitted; as the indicator shows them.
        manoeuvring_kt: On this port at the weight, as the indicator shows it.
        runs: In the order of flying.
        band_of: Whose band that is: ``own correction``, or ``own correction after the change``.
        largest_after_kt, largest_equal_kt: Largest half width over the speeds that may be flown:
            now (None if nothing is known), after the plan, and after as many points of one sortie
            equally spaced over the same speeds.
        gain: Reduction of the largest by the plan over that by equally spaced points.
        largest_at_kt: Where it is now.
        card: What to hold, write down and repeat, and when to stop.
        outlook: What such sorties would do for the question asked.
        flown: Whether anything is known beforehand but what any static source may be.
        own: Whether the bands are those of the airframe's own curve, as `curve TAG` prints them;
            a large group's leave out errors that last, and what its curve does not follow.
    """

    airframe: str
    type: str
    group: str
    flap_setting: str
    weight_kg: float
    altitude_ft: float
    wind_from_deg: float | None
    wind_kt: float | None
    minutes: float
    sorties: int
    weighed: tuple[SortiesWeighed, ...]
    ordinary: OrdinaryFlights
    slowest_kt: int
    fastest_kt: int
    manoeuvring_kt: int | None
    runs: tuple[PlannedRun, ...]
    band_of: str
    largest_before_kt: float | None
    largest_after_kt: float
    largest_equal_kt: float
    gain: float | None
    largest_at_kt: float
    card: tuple[str, ...]
    notes: tuple[str, ...]
    limits: tuple[PlanLimit, ...] = ()
    outlook: Outlook | None = None
    flown: bool = True
    own: bool = False


CARD: Final = (
    "Settle 20 s on each new heading, then hold each leg 60 s; one power setting a run",
    "Turn from leg to leg at the speed of the run, with 25 degrees of bank at most, the log "
    "running: such turns count, and narrow the result",
    "Hold airspeed within 2 kt, altitude within 50 ft, heading within 3 degrees, wings level",
    "Write down for each run: time, fuel, temperature, power, flaps, how smooth the air was",
    "Repeat a leg when the airspeed drifted more than 3 kt, the altitude more than 80 ft, or a "
    "gust moved the needle by more than 5 kt",
    "Stop for weather, traffic, fuel, an engine or airframe doubt, rough air, or when anybody on "
    "board wants to",
)
