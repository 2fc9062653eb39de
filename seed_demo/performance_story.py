"""The performance sorties: sawtooth climbs and glides across the wind, after a few slow legs."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from typing import Final

import numpy as np

from seed_demo.air import KT
from seed_demo.card import IDLE_POWER, Box, Card, Tooth
from seed_demo.fleet import Airframe, build_fleet
from seed_demo.flight import Flight, Loading
from seed_demo.hand import Hand
from seed_demo.performance_flight import fly_performance
from seed_demo.performance_truth import IDLE, Plant, drawn_plant, plant_of, rate_ftmin
from seed_demo.recorder import RECORDERS, Recorder
from seed_demo.truth import LARGE_ENGINE, Group
from seed_demo.weather import SURFACE_WIND_SHARE, Weather, drawn_humidity, drawn_weather

PERFORMANCE_SEED: Final = 411
FIRST_DAY: Final = date(2024, 9, 14)
TAGS: Final = (
    "C-01",
    "C-02",
    "C-03",
    "C-04",
    "C-06",
    "C-16",
    "C-17",
    "C-18",
    "C-20",
    "C-21",
    "C-22",
)
BASE_FT: Final = 1500.0
SLOW_BOXES_KT: Final = (51.0, 59.0)
# Not much faster than the best rate: over a very wide range of speeds thrust less drag is no
# parabola, and the best speeds of a fitted one are off by a knot.
SMALL_TEETH_KT: Final = (
    ((54.0, 55.0), (60.0, 60.0), (66.0, 67.0), (74.0, 75.0), (82.0, 84.0), (91.0, 94.0)),
)
LARGE_TEETH_KT: Final = (
    ((52.0, 53.0), (59.0, 62.0), (68.0, 71.0), (79.0, 81.0), (91.0, 93.0)),
    ((54.0, 57.0), (62.0, 66.0), (70.0, 76.0), (80.0, 86.0), (90.0, 95.0)),
)
SMALL_BLOCK_FT: Final = 1100.0
LARGE_BLOCK_FT: Final = 1400.0
QUIETER_AIR: Final = 0.65
VERTICAL_GUST_MPS: Final = 0.15
EARLIEST_S, LATEST_S = 5 * 3600, 7 * 3600


@dataclass(frozen=True, kw_only=True)
class PerformanceSortie:
    """One performance flight: everything drawn for it before it is flown."""

    airframe: Airframe
    plant: Plant
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
    def file_name(self) -> str:
        """The name of the log."""
        return f"{self.airframe.tag}_{self.day.isoformat()}_performance.csv"

    def flown(self) -> Flight:
        """Fly it; the same flight at every call."""
        return fly_performance(
            self.card,
            self.plant,
            self.airframe.true_curve(self.day),
            weather=self.weather,
            loading=self.loading,
            hand=self.hand,
            instruments=self.airframe.instruments,
            vertical_gust_mps=VERTICAL_GUST_MPS,
            rng=np.random.default_rng(self.seed),
        )


@dataclass(frozen=True)
class Part:
    """What a pilot notes of a flight: a kind at one power setting, and from when to when (s)."""

    kind: str
    power_state: str
    from_s: int
    to_s: int


def parts_of(sortie: PerformanceSortie, flight: Flight) -> tuple[Part, ...]:
    """Return the climbs of each power state, and the glides of the whole flight, as noted."""
    power = flight.profile.power
    noted: list[Part] = []
    for number, state in enumerate(sortie.plant.states):
        at = np.flatnonzero(power == number)
        noted.append(Part("climb", state.tag, max(int(at[0]) - 20, 0), int(at[-1]) + 20))
    at = np.flatnonzero(power == IDLE_POWER)
    noted.append(Part("glide", IDLE, int(at[0]) - 20, int(at[-1]) + 20))
    return tuple(noted)


def _seconds(plant: Plant, tag: str, ias_kt: float, block_ft: float) -> float:
    """Return how long the pilot reckons with; the indicated speed serves for the calibrated."""
    rate = rate_ftmin(plant, tag, np.array([ias_kt]), BASE_FT + 0.5 * block_ft)
    return float(block_ft / abs(rate[0]) * 60.0)


def _teeth(plant: Plant, block_ft: float, rng: np.random.Generator) -> tuple[Tooth, ...]:
    speeds = LARGE_TEETH_KT if plant.engine == LARGE_ENGINE else SMALL_TEETH_KT
    teeth: list[Tooth] = []
    for number, pairs in enumerate(speeds):
        tag = plant.states[number].tag
        for climb, glide in pairs:
            up, down = climb + float(rng.uniform(-1.0, 1.0)), glide + float(rng.uniform(-1.0, 1.0))
            teeth.append(
                Tooth(
                    power=number,
                    climb_ias_kt=up,
                    climb_s=_seconds(plant, tag, up, block_ft),
                    glide_ias_kt=down,
                    glide_s=_seconds(plant, IDLE, down, block_ft),
                )
            )
    return tuple(teeth)


def _card(plant: Plant, weather: Weather, rng: np.random.Generator) -> Card:
    wind_from_deg = float(np.degrees(weather.wind_from_rad))
    block_ft = LARGE_BLOCK_FT if plant.engine == LARGE_ENGINE else SMALL_BLOCK_FT
    return Card(
        boxes=tuple(Box(v + float(rng.uniform(-0.5, 0.5)), (90.0,) * 3, 65) for v in SLOW_BOXES_KT),
        altitude_ft=BASE_FT,
        first_heading_deg=float(rng.integers(0, 36)) * 10.0,
        runway_heading_deg=wind_from_deg,
        surface_wind_kt=weather.wind_speed_mps * SURFACE_WIND_SHARE / KT,
        teeth=_teeth(plant, block_ft, rng),
        top_ft=BASE_FT + block_ft,
        saw_heading_deg=wind_from_deg + 90.0 + float(rng.uniform(-10.0, 10.0)),
    )


def _sortie(number: int, airframe: Airframe, seed: int) -> PerformanceSortie:
    rng = np.random.default_rng((seed, number, 0))
    day = FIRST_DAY + timedelta(days=int(rng.integers(0, 200)))
    group = airframe.recorded_group(day)
    mean_plant = plant_of(group.engine, group.propeller)
    moist = np.random.default_rng((seed, number, 2))
    weather = replace(drawn_weather(rng), humidity=drawn_humidity(moist))
    weather = replace(
        weather,
        wind_speed_mps=QUIETER_AIR * weather.wind_speed_mps,
        gust_mps=QUIETER_AIR * weather.gust_mps,
        swell_mps=QUIETER_AIR * weather.swell_mps,
    )
    start_s = int(rng.integers(EARLIEST_S, LATEST_S))
    burn_kg_per_s = (19.0 if group.engine == LARGE_ENGINE else 14.0) / 3600.0
    return PerformanceSortie(
        airframe=airframe,
        plant=drawn_plant(mean_plant, rng),
        start=datetime(day.year, day.month, day.day, tzinfo=UTC) + timedelta(seconds=start_s),
        card=_card(mean_plant, weather, rng),
        weather=weather,
        loading=Loading(float(rng.integers(575, 601)), burn_kg_per_s),
        hand=Hand(),
        recorder=RECORDERS[number % len(RECORDERS)],
        seed=(seed, number, 1),
    )


def build_performance_sorties(seed: int = PERFORMANCE_SEED) -> tuple[PerformanceSortie, ...]:
    """Return the performance sorties; the same at every call with one seed."""
    fleet = {airframe.tag: airframe for airframe in build_fleet()}
    return tuple(_sortie(number, fleet[tag], seed) for number, tag in enumerate(TAGS, start=1))
