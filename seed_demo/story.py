"""Who flew when, in which weather, with which recorder: the sorties of the demonstration."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from typing import Final

import numpy as np

from seed_demo.air import KT
from seed_demo.card import Card, drawn_box
from seed_demo.fleet import CHANGE_DATE, CHANGED_TAG, Airframe, build_fleet
from seed_demo.flight import Flight, Loading, fly
from seed_demo.hand import Hand
from seed_demo.recorder import RECORDERS, Recorder
from seed_demo.truth import LARGE_ENGINE, Group
from seed_demo.weather import SURFACE_WIND_SHARE, Weather, drawn_humidity, drawn_weather

SORTIE_SEED: Final = 77
LEG_SHEET_SORTIE: Final = 3
ROUGH_SORTIE: Final = 9
SMALL_ENGINE_SPEEDS_KT: Final = (66.0, 78.0, 91.0, 104.0, 117.0, 131.0)
LARGE_ENGINE_SPEEDS_KT: Final = (66.0, 80.0, 95.0, 110.0, 125.0, 140.0)


@dataclass(frozen=True, kw_only=True)
class Sortie:
    """One flight of the story: everything drawn for it before it is flown."""

    number: int
    airframe: Airframe
    start: datetime
    card: Card
    weather: Weather
    loading: Loading
    hand: Hand
    recorder: Recorder
    seed: tuple[int, int, int]

    @property
    def day(self) -> date:
        """The date of the flight (UTC)."""
        return self.start.date()

    @property
    def group(self) -> Group:
        """The group that the records put the flight in."""
        return self.airframe.recorded_group(self.day)

    @property
    def by_hand(self) -> bool:
        """Whether the flight comes as a leg sheet written by hand instead of a log."""
        return self.number == LEG_SHEET_SORTIE

    @property
    def file_name(self) -> str:
        """The name of the log or leg sheet."""
        kind = "leg-sheet" if self.by_hand else "log"
        return f"{self.airframe.tag}_{self.day.isoformat()}_{kind}.csv"

    def flown(self) -> Flight:
        """Fly it; the same flight at every call."""
        return fly(
            self.card,
            self.airframe.true_curve(self.day),
            self.weather,
            loading=self.loading,
            hand=self.hand,
            instruments=self.airframe.instruments,
            rng=np.random.default_rng(self.seed),
        )


def _card(engine: str, weather: Weather, rng: np.random.Generator) -> Card:
    speeds = list(LARGE_ENGINE_SPEEDS_KT if engine == LARGE_ENGINE else SMALL_ENGINE_SPEEDS_KT)
    if rng.random() < 0.4:
        speeds.pop(int(rng.integers(1, 5)))
    if rng.random() < 0.5:
        speeds.reverse()
    wind_from_deg = float(np.degrees(weather.wind_from_rad))
    return Card(
        boxes=tuple(drawn_box(rng, speed) for speed in speeds),
        altitude_ft=float(rng.choice((3000.0, 3500.0, 4000.0, 5000.0))),
        first_heading_deg=float(rng.integers(0, 36)) * 10.0,
        runway_heading_deg=wind_from_deg,
        surface_wind_kt=weather.wind_speed_mps * SURFACE_WIND_SHARE / KT,
    )


def _sortie(number: int, airframe: Airframe, day: date) -> Sortie:
    seed = (SORTIE_SEED, number)
    rng = np.random.default_rng((*seed, 0))
    moist = np.random.default_rng((*seed, 2))
    weather = replace(drawn_weather(rng), humidity=drawn_humidity(moist))
    if number == ROUGH_SORTIE:
        weather = replace(weather, gust_mps=2.0 * weather.gust_mps)
    engine = airframe.recorded_group(day).engine
    burn_kg_per_s = (19.0 if engine == LARGE_ENGINE else 14.0) / 3600.0
    hour = datetime(day.year, day.month, day.day, tzinfo=UTC)
    return Sortie(
        number=number,
        airframe=airframe,
        start=hour + timedelta(seconds=int(rng.integers(7 * 3600, 16 * 3600))),
        card=_card(engine, weather, rng),
        weather=weather,
        loading=Loading(float(rng.integers(480, 601)), burn_kg_per_s),
        hand=Hand(),
        recorder=RECORDERS[number % len(RECORDERS)],
        seed=(*seed, 1),
    )


def _days(airframe: Airframe, rng: np.random.Generator) -> list[date]:
    first = airframe.fits[0].from_date
    days = [max(first, CHANGE_DATE) + timedelta(days=int(d)) for d in rng.integers(30, 900, 2)]
    if airframe.tag == CHANGED_TAG:
        days += [CHANGE_DATE - timedelta(days=int(d)) for d in rng.integers(20, 700, 2)]
    elif rng.random() < 0.25:
        days = days[:1]
    return sorted(days)


def build_sorties() -> tuple[Sortie, ...]:
    """Return all sorties of the story, airframe by airframe; the same at every call."""
    rng = np.random.default_rng(SORTIE_SEED)
    sorties: list[Sortie] = []
    for airframe in build_fleet():
        for day in _days(airframe, rng):
            sorties.append(_sortie(len(sorties) + 1, airframe, day))
    return tuple(sorties)
