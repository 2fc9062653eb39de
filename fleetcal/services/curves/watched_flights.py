"""What a watch on one airframe found, as it is printed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Final

from fleetcal.services.curves.watched_series import EquipmentChange

CHANGED: Final = "changed"
UNCHANGED: Final = "unchanged"
TOO_FEW: Final = "too few flights"


@dataclass(frozen=True)
class SizeRow:
    """A change at one airspeed: of the correction to add, with its 95 % band."""

    ias_kt: float
    change_kt: float
    low_kt: float
    high_kt: float


@dataclass(frozen=True, kw_only=True)
class WatchedChange:
    """A change of the error.

    Attributes:
        last_flight_before, first_flight_after: Numbers of flights, the likeliest.
        perhaps_after_flight, perhaps_before_flight: Between these at 95 %.
        raised_on: Day of the flight after which the alarm was raised.
        sizes: At a low, a middle and a high speed flown; against the flights before it.
        known_change: What was changed on purpose there; empty if nothing was.
    """

    last_flight_before: int
    last_day_before: date
    first_flight_after: int
    first_day_after: date
    perhaps_after_flight: int
    perhaps_before_flight: int
    raised_on: date
    sizes: tuple[SizeRow, ...]
    known_change: str
    sentence: str = ""

    @property
    def middle(self) -> SizeRow:
        """Size at the middle speed."""
        return self.sizes[len(self.sizes) // 2]


@dataclass(frozen=True, kw_only=True)
class WatchedFlight:
    """One flight of the series.

    Attributes:
        flight: Its number in the series.
        from_own_kt, low_kt, high_kt: Its correction less the airframe's own mean before the first
            change, at the speed of the watch, with its 95 % band.
        level_kt: Of its part of the series.
        allowed_low_kt, allowed_high_kt: What the other flights allow it: 199 of 200 clean series
            keep all their flights within. None if there are too few flights.
        mark: What stands out, in words.
    """

    flight: int
    flown_on: date
    sortie_id: int
    points: int
    from_own_kt: float
    low_kt: float
    high_kt: float
    level_kt: float
    allowed_low_kt: float | None
    allowed_high_kt: float | None
    mark: str


@dataclass(frozen=True, kw_only=True)
class Watched:
    """A watch on one airframe.

    Attributes:
        since: Day from which the static source was fitted.
        weight_kg: Weight that the airspeeds are for.
        ias_kt: Airspeed that the flights are compared at.
        outcome: ``changed``, ``unchanged`` or ``too few flights``.
        p_value: Chance that a clean series of as many flights shows as unlikely a step.
        false_alarm_chance: That a clean series of as many flights raises an alarm.
        smallest_found_kt: Step that would have been found in eight cases of ten, as many flights
            old as `smallest_after_flights`; None where too few were flown since the last change.
        more_changes: Whether there are more changes than are dated.
        scatter_kt: Of flights beyond what is stated of them.
        hints: Commands that say more.
    """

    airframe: str
    type: str
    static_source: str
    flap_setting: str
    since: date
    weight_kg: float
    ias_kt: float
    outcome: str
    verdict: str = ""
    changes: tuple[WatchedChange, ...]
    flights: tuple[WatchedFlight, ...]
    p_value: float | None
    false_alarm_chance: float | None
    smallest_found_kt: float | None
    smallest_after_flights: int | None
    more_changes: bool
    scatter_kt: float
    known_changes: tuple[EquipmentChange, ...]
    left_out: tuple[str, ...]
    notes: tuple[str, ...] = ()
    hints: tuple[str, ...] = ()
    model: str = ""

    @property
    def changed(self) -> bool:
        """Whether an alarm was raised."""
        return self.outcome == CHANGED
