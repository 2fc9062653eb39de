"""The card for a test flight as plain values, and the words that all its formats share.

Runs go from fast to slow, so that the slowest are flown lightest, and every second run
flies its headings backwards, which saves a turn.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from fleetcal.errors import ImplausibleError
from fleetcal.plain_text import one_line

#: Most runs on one page with boxes that can be written into wearing gloves.
MOST_RUNS: Final = 6
#: Boxes of a leg and of a run, with their units.
LEG_BOXES: Final = (
    ("time", ""),
    ("IAS", "kt as read"),
    ("altitude", "ft"),
    ("OAT", "°C"),
    ("GS", "kt"),
    ("track", "°"),
)
RUN_BOXES: Final = (("power", ""), ("fuel", ""))
#: Rows for legs that are flown again.
SPARE_ROWS: Final = 2
BEFORE_BOXES: Final = ("date", "crew", "take-off", "landing", "fuel at start", "weight at start")

HOLD: Final = (
    "Settle 20 s on each heading, then 60 s a leg. IAS ±2 kt, altitude ±50 ft, heading ±3°, wings "
    "level. One power setting a run: trim, then leave it. Turn at the speed of the run, 25° of "
    "bank at most, log running: turns count."
)
REPEAT: Final = (
    "a leg if IAS drifted more than 3 kt, altitude more than 80 ft, or a gust moved the needle "
    "more than 5 kt. Strike the row out, use a spare row."
)
STOP: Final = (
    "rough air, weather, traffic, fuel at reserve, any doubt about engine, airframe or a reading, "
    "or when anybody on board wants to."
)
RULES: Final = (("HOLD", HOLD), ("REPEAT", REPEAT), ("STOP", STOP))


@dataclass(frozen=True)
class CardLeg:
    """One leg: whole degrees and knots."""

    heading_deg: int
    track_deg: int
    ground_speed_kt: int


@dataclass(frozen=True)
class CardRun:
    """One run.

    Attributes:
        helps: 1 for the run that helps most.
    """

    ias_kt: int
    helps: int
    smooth_air_only: bool
    legs: tuple[CardLeg, ...]


@dataclass(frozen=True, kw_only=True)
class FlightCard:
    """What a test card prints.

    Attributes:
        altitude_ft: Pressure altitude.
        slowest_kt, fastest_kt: Limits of this test as airspeeds that are never passed on purpose.
        wind: In words, empty if none was given.
        runs: In the order of flying, 6 at most.
        limits (tuple of (name, kt)): Of the type on this port, the lower where sources disagree,
            rounded down.
    """

    airframe: str
    type_name: str
    group: str
    flap_setting: str
    altitude_ft: int
    weight_kg: int
    slowest_kt: int
    fastest_kt: int
    manoeuvring_kt: int | None
    wind: str
    minutes: int
    runs: tuple[CardRun, ...]
    purpose: str
    notes: tuple[str, ...]
    limits: tuple[tuple[str, int], ...] = ()

    def __post_init__(self) -> None:
        """Refuse a card that would not fit its page.

        Raises:
            ImplausibleError: If it has more runs than fit, or none.
        """
        if not 1 <= len(self.runs) <= MOST_RUNS:
            raise ImplausibleError(
                f"a test card holds 1 to {MOST_RUNS} runs, not {len(self.runs)}",
                f"ask for --points {MOST_RUNS} at most, or for more --sorties",
            )


def set_words(card: FlightCard) -> tuple[tuple[str, str], ...]:
    """Return what is set up before the first run: a name and its figure.

    Returns:
        Tuple of (name, figure).
    """
    return (
        ("pressure altitude", f"{card.altitude_ft} ft"),
        ("altimeter set", "1013 hPa / 29.92"),
        ("flaps", card.flap_setting),
        ("weight, about", f"{card.weight_kg} kg"),
        ("wind", card.wind or "none given"),
    )


def limit_words(card: FlightCard) -> str:
    """Return the airspeeds within which the test stays."""
    calm = (
        "No manoeuvring speed is known: fly all runs in smooth air."
        if card.manoeuvring_kt is None
        else f"Above {card.manoeuvring_kt} kt in smooth air only."
    )
    known = ", ".join(f"{one_line(name)} {speed}" for name, speed in card.limits)
    carried = f" Limits on this port, kt IAS at {card.weight_kg} kg: {known}." if known else ""
    return (
        f"Not below {card.slowest_kt} kt or above {card.fastest_kt} kt in this test; where the "
        f"manual's limits are lower they hold. {calm}{carried}"
    )


def heading_words(card: FlightCard) -> str:
    """Return how the headings were meant."""
    return (
        "Fly headings, not tracks, in the order given; directions count from the same north as the "
        "wind given. Expected track and ground speed are for standard air."
        if card.wind
        else "No wind was given: turn all headings so that the first is into the wind. Fly them "
        "in the order given."
    )
