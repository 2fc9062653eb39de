"""Stretches at one airspeed, of logs made by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from fleetcal.flightlog import find_airspeeds
from fleetcal.flightlog.airspeeds import AirspeedSpan
from fleetcal.flightlog.cells import Floats
from fleetcal.flightlog.settings import AirspeedSettings
from fleetcal.units import MPS_PER_KT as KT

EAST_DEG = 90.0


def flown(*parts: tuple[float, float], every_s: float = 1.0) -> tuple[Floats, Floats, Floats]:
    """Time, airspeed and track of parts flown straight, one after the other.

    Args:
        parts: Seconds and knots of each; the airspeed changes within a second.
    """
    kt = np.concatenate([np.full(round(seconds / every_s), speed) for seconds, speed in parts])
    track = np.full(len(kt), np.radians(EAST_DEG))
    return every_s * np.arange(float(len(kt))), np.asarray(kt * KT), track


def lasting_s(t_s: Floats, span: AirspeedSpan) -> float:
    return float(t_s[span.stop - 1] - t_s[span.start])


def airspeeds_kt(airspeed_mps: Floats, spans: list[AirspeedSpan]) -> list[float]:
    """Mean airspeed at each of the flight's airspeeds, the slowest first."""
    numbers = sorted({span.airspeed for span in spans})
    assert numbers == list(range(len(numbers)))
    return [
        float(
            np.concatenate(
                [airspeed_mps[s.start : s.stop] for s in spans if s.airspeed == number]
            ).mean()
            / KT
        )
        for number in numbers
    ]


def test_a_flight_falls_into_stretches_by_its_airspeeds_the_slowest_first() -> None:
    t, airspeed, track = flown((300.0, 100.0), (300.0, 70.0), (300.0, 99.0))
    spans = find_airspeeds(t, airspeed, track)
    assert [span.airspeed for span in spans] == [1, 0, 1]
    assert [span.start for span in spans] == sorted(span.start for span in spans)
    slow, fast = airspeeds_kt(airspeed, spans)
    assert slow == pytest.approx(70.0, abs=0.3)
    assert fast == pytest.approx(99.5, abs=0.3)
    for span in spans:  # what is left out about a change is less than the time it is told over
        assert lasting_s(t, span) > 300.0 - 2.0 * 30.0
        assert np.ptp(airspeed[span.start : span.stop]) < 4.0 * KT


def test_a_short_gust_cuts_no_stretch_and_moves_it_to_no_other_airspeed() -> None:
    t, airspeed, track = flown((400.0, 90.0))
    gusty = airspeed.copy()
    gusty[200:204] += 12.0 * KT
    assert find_airspeeds(t, gusty, track) == find_airspeeds(t, airspeed, track)
    # a change that stays does cut
    gusty[200:] += 12.0 * KT
    assert [span.airspeed for span in find_airspeeds(t, gusty, track)] == [0, 1]


def test_a_steep_turn_is_left_out_and_a_gentle_one_is_not() -> None:
    t, airspeed, track = flown((600.0, 90.0))
    turning = (t >= 250.0) & (t < 290.0)
    for deg_per_s, cuts in ((3.0, False), (12.0, True)):
        bent = track + np.radians(deg_per_s) * np.cumsum(turning)
        spans = find_airspeeds(t, airspeed, np.mod(bent, 2.0 * np.pi))
        inside = [s for s in spans if s.start <= 270 < s.stop]
        assert (inside == []) is cuts
        assert len(spans) == (2 if cuts else 1)
        assert {s.airspeed for s in spans} == {0}


def test_a_track_that_crosses_north_is_no_steep_turn() -> None:
    t, airspeed, track = flown((600.0, 90.0))
    north = track - np.radians(EAST_DEG) + np.radians(4.0) * np.sin(t / 20.0)
    (span,) = find_airspeeds(t, airspeed, np.mod(north, 2.0 * np.pi))
    assert (span.start, span.stop) == (0, 600)


def test_airspeeds_nearer_to_each_other_than_the_limit_are_one() -> None:
    t, airspeed, track = flown((200.0, 70.0), (200.0, 100.0), (200.0, 70.0 + 4.5))
    spans = find_airspeeds(t, airspeed, track)
    assert [span.airspeed for span in spans] == [0, 1, 0]
    finer = replace(AirspeedSettings(), apart_mps=4.0 * KT)
    assert [s.airspeed for s in find_airspeeds(t, airspeed, track, finer)] == [0, 2, 1]


def test_at_most_six_airspeeds_are_told_apart() -> None:
    speeds = [60.0, 66.0, 74.0, 82.0, 90.0, 98.0, 106.0, 114.0]
    t, airspeed, track = flown(*((200.0, speed) for speed in speeds))
    spans = find_airspeeds(t, airspeed, track)
    assert len(airspeeds_kt(airspeed, spans)) == 6
    # the nearest are joined, and all time is kept
    assert spans[0].airspeed == spans[1].airspeed == 0
    assert len(spans) == 8
    more = replace(AirspeedSettings(), most_airspeeds=8)
    found = find_airspeeds(t, airspeed, track, more)
    assert airspeeds_kt(airspeed, found) == pytest.approx(speeds, abs=0.5)


@pytest.mark.parametrize(("hole_s", "stretches"), [(4, 1), (30, 2)])
def test_a_hole_in_the_log_ends_a_stretch_if_it_is_long(hole_s: int, stretches: int) -> None:
    t, airspeed, track = flown((400.0, 90.0))
    kept = (t < 200.0) | (t >= 200.0 + hole_s)
    spans = find_airspeeds(t[kept], airspeed[kept], track[kept])
    assert len(spans) == stretches
    assert {span.airspeed for span in spans} == {0}


def test_samples_without_a_reading_are_passed_over_and_places_are_those_of_the_log() -> None:
    t, airspeed, track = flown((300.0, 70.0), (300.0, 100.0))
    airspeed[100:103] = np.nan
    track[150] = np.nan
    airspeed[400:450] = np.nan
    slow, *fast = find_airspeeds(t, airspeed, track)
    assert slow.start == 0
    assert slow.stop <= 300
    assert [span.airspeed for span in fast] == [1, 1]
    assert fast[0].stop == 400
    assert fast[1].start == 450
    assert fast[1].stop == 600


def test_a_log_of_one_sample_in_three_seconds_is_cut_as_one_of_every_second() -> None:
    parts = ((300.0, 100.0), (300.0, 70.0))
    quick, slow = flown(*parts), flown(*parts, every_s=3.0)
    by_second, by_three = find_airspeeds(*quick), find_airspeeds(*slow)
    assert [span.airspeed for span in by_three] == [span.airspeed for span in by_second] == [1, 0]
    for fine, coarse in zip(by_second, by_three, strict=True):
        assert lasting_s(slow[0], coarse) == pytest.approx(lasting_s(quick[0], fine), abs=7.0)


def test_what_is_slower_than_flight_or_too_short_is_no_stretch() -> None:
    t, airspeed, track = flown((300.0, 15.0), (300.0, 80.0), (300.0, 10.0))
    (span,) = find_airspeeds(t, airspeed, track)
    assert airspeed[span.start : span.stop].min() > 40.0 * KT
    assert find_airspeeds(*flown((35.0, 80.0))) == []
    assert len(find_airspeeds(*flown((45.0, 80.0)))) == 1


def test_an_airspeed_that_never_rests_gives_no_long_stretch() -> None:
    t, _, track = flown((600.0, 90.0))
    growing = (60.0 + 0.1 * t) * KT  # 3 kt in half a minute: less than a change
    spans = find_airspeeds(t, growing, track)
    assert len(spans) > 4
    for span in spans:
        assert growing[span.stop - 1] - growing[span.start] < 8.0 * KT
    # 6 kt in half a minute is a change all the time
    assert find_airspeeds(t, (60.0 + 0.2 * t) * KT, track) == []


def test_no_log_and_an_empty_one_give_nothing() -> None:
    nothing = np.empty(0)
    assert find_airspeeds(nothing, nothing, nothing) == []
    t, airspeed, track = flown((300.0, 90.0))
    assert find_airspeeds(t, np.full_like(airspeed, np.nan), track) == []
