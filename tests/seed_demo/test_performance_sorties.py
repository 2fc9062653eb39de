"""The recorded climbs and glides hold what they should."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import numpy as np
import pytest

from seed_demo.air import FT, GRAVITY, KT
from seed_demo.card import IDLE_POWER, NO_POWER
from seed_demo.flight import Flight
from seed_demo.hand import PERFECT_HAND
from seed_demo.instruments import RIGHT
from seed_demo.leg_sheet import legs_of
from seed_demo.performance_flight import fly_performance
from seed_demo.performance_story import PerformanceSortie, build_performance_sorties, parts_of
from seed_demo.performance_truth import IDLE, sine_of_path
from seed_demo.truth import ErrorCurve
from seed_demo.weather import calm_weather


@pytest.fixture(scope="module")
def sorties() -> tuple[PerformanceSortie, ...]:
    return build_performance_sorties()


@pytest.fixture(scope="module")
def turbo(sorties: tuple[PerformanceSortie, ...]) -> PerformanceSortie:
    return next(s for s in sorties if len(s.plant.states) == 2)


@pytest.fixture(scope="module")
def flight(turbo: PerformanceSortie) -> Flight:
    return turbo.flown()


def still(sortie: PerformanceSortie) -> Flight:
    """Fly the sortie in calm standard air with a perfect hand and a port without error."""
    return fly_performance(
        replace(sortie.card, surface_wind_kt=0.0),
        sortie.plant,
        ErrorCurve(0.0, 0.0),
        calm_weather(0.0, 0.0),
        sortie.loading,
        PERFECT_HAND,
        RIGHT,
        0.0,
        np.random.default_rng(1),
    )


def spans(flight: Flight, power: float) -> list[np.ndarray[tuple[int], np.dtype[np.intp]]]:
    at = np.flatnonzero(flight.profile.power == power)
    return np.split(at, np.flatnonzero(np.diff(at) > 1) + 1)


def test_every_pairing_is_flown_by_enough_airframes_and_one_has_two_power_states(
    sorties: tuple[PerformanceSortie, ...],
) -> None:
    fliers = Counter(sortie.plant.name for sortie in sorties)
    assert len(fliers) == 2
    assert min(fliers.values()) >= 5
    assert {len(sortie.plant.states) for sortie in sorties} == {1, 2}
    assert all(sortie.airframe.planted == "" for sortie in sorties)
    ports = Counter((s.plant.name, s.group.static_source) for s in sorties)
    assert min(ports.values()) >= 3  # fewer fly no speed together


def test_climbs_are_flown_both_ways_across_the_wind_through_one_block(
    turbo: PerformanceSortie, flight: Flight
) -> None:
    altitude = flight.indicated_altitude / FT
    wind_deg = np.degrees(turbo.weather.wind_from_rad)
    for power in (0.0, 1.0, IDLE_POWER):
        found = spans(flight, power)
        assert len(found) == (20 if power == IDLE_POWER else 10)
        heading = [float(flight.profile.heading_deg[at].mean()) for at in found]
        for place, (one, other) in enumerate(zip(found[::2], found[1::2], strict=True)):
            apart = abs(heading[2 * place + 1] - heading[2 * place])
            assert apart % 360.0 == pytest.approx(180.0, abs=1.0)
            across = (heading[2 * place] - wind_deg) % 180.0
            assert across == pytest.approx(90.0, abs=11.0)
            speeds = [float(flight.indicated_airspeed[at].mean()) / KT for at in (one, other)]
            assert speeds[0] == pytest.approx(speeds[1], abs=3.0)
            low = max(altitude[one].min(), altitude[other].min())
            high = min(altitude[one].max(), altitude[other].max())
            assert high - low > 0.7 * (turbo.card.top_ft - turbo.card.altitude_ft)


def test_full_power_is_never_on_for_longer_than_its_limit(flight: Flight) -> None:
    assert max(at.size for at in spans(flight, 0.0)) < 5 * 60


def test_in_still_air_the_rate_is_that_of_the_truth_at_the_speed_flown(
    turbo: PerformanceSortie,
) -> None:
    flight = still(turbo)
    height = np.cumsum(np.gradient(flight.indicated_altitude))
    for power, tag in ((0.0, "full power"), (1.0, "continuous power"), (IDLE_POWER, IDLE)):
        for at in spans(flight, power):
            inner = at[12:-12]
            rate = np.polyfit(inner, height[inner], 1)[0]
            tas = flight.true_airspeed[inner]
            sine = sine_of_path(
                turbo.plant,
                tag,
                tas,
                flight.weight[inner],
                flight.true_static[inner],
                flight.true_temperature[inner],
            )
            gained = (tas * np.gradient(tas) / GRAVITY).mean()
            assert rate + gained == pytest.approx(float((tas * sine).mean()), abs=0.02)


def test_a_wind_that_grows_with_height_helps_on_one_heading_as_it_hinders_on_the_other(
    turbo: PerformanceSortie,
) -> None:
    along = replace(turbo, card=replace(turbo.card, saw_heading_deg=360.0, surface_wind_kt=12.0))
    # From the north, so that the first climb meets it head on: it gains what the second loses.
    flight = fly_performance(
        along.card,
        along.plant,
        ErrorCurve(0.0, 0.0),
        calm_weather(20.0 * KT, 0.0),
        along.loading,
        PERFECT_HAND,
        RIGHT,
        0.0,
        np.random.default_rng(1),
    )
    calm = still(along)
    for one, other in list(zip(*[iter(spans(flight, 0.0))] * 2, strict=True))[1:4]:
        rates = [
            np.polyfit(at[12:-12], flight.indicated_altitude[at[12:-12]], 1)[0]
            for at in (one, other)
        ]
        without = [
            np.polyfit(at[12:-12], calm.indicated_altitude[at[12:-12]], 1)[0] for at in (one, other)
        ]
        # A headwind that grows by 0.4 of 20 kt in 900 m, met at the rate of climb: V/g dw/dt.
        tas = float(flight.true_airspeed[one[12:-12]].mean())
        helps = tas / GRAVITY * 0.4 * 20.0 * KT / 900.0 * without[0]
        assert rates[0] - without[0] == pytest.approx(helps, rel=0.35)
        assert rates[1] - without[1] == pytest.approx(-helps, rel=0.35)
        assert sum(rates) == pytest.approx(sum(without), abs=0.05)


def test_the_slow_legs_are_level_and_the_notes_take_in_every_climb(
    turbo: PerformanceSortie, flight: Flight
) -> None:
    for _, _, at in legs_of(flight):
        assert flight.indicated_altitude[at].std() < 40.0 * FT
        assert np.all(flight.profile.power[at] == NO_POWER)
    parts = parts_of(turbo, flight)
    assert [part.power_state for part in parts] == ["full power", "continuous power", IDLE]
    assert parts[0].to_s < parts[1].from_s + 200
    for number, part in enumerate(parts[:2]):
        at = np.flatnonzero(flight.profile.power == number)
        assert part.from_s < at[0]
        assert at[-1] < part.to_s


def test_two_flights_of_one_sortie_are_the_same(turbo: PerformanceSortie, flight: Flight) -> None:
    again = turbo.flown()
    assert np.array_equal(again.indicated_altitude, flight.indicated_altitude)
    assert np.array_equal(again.gps_east, flight.gps_east)
