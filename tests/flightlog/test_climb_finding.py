from __future__ import annotations

import numpy as np
import pytest

from fleetcal.flightlog.climbs import find_climbs, pair_climbs
from tests.flightlog.flight_maker import box, fly
from tests.flightlog.sawtooth_maker import FT, FTMIN, KT, sawtooth

SPEEDS = (55.0, 65.0, 75.0, 85.0, 95.0)


def climb_rate(speed_kt):
    return -900.0 + 42.0 * speed_kt - 0.24 * speed_kt**2


def sink_rate(speed_kt):
    return -(0.10 * speed_kt**2 - 11.0 * speed_kt + 950.0)


def found(flight):
    return find_climbs(flight.t, flight.airspeed, flight.altitude, flight.track)


def measured(flight, climbs):
    """The climbs and glides of the card; what leads up to the block is not on it."""
    homes = [int(np.median(flight.segment[c.start : c.stop])) for c in climbs]
    return [c for c, home in zip(climbs, homes, strict=True) if home in flight.flown]


@pytest.mark.parametrize("rate", [climb_rate, sink_rate])
@pytest.mark.parametrize("seed", range(6))
def test_each_climb_and_glide_is_found_once_with_its_rate(rate, seed):
    flight = sawtooth(SPEEDS, rate, seed=seed)
    climbs = measured(flight, found(flight))
    homes = [int(np.median(flight.segment[c.start : c.stop])) for c in climbs]
    assert homes == flight.flown
    errors = np.array([c.rate_mps / FTMIN for c in climbs]) - rate(np.repeat(SPEEDS, 2))
    # 8 ft of noise that lasts 15 s makes about 35 ft/min in one climb of 45 s
    assert np.all(np.abs(errors) < 140.0)
    assert abs(errors.mean()) < 40.0
    for climb, speed in zip(climbs, np.repeat(SPEEDS, 2), strict=True):
        assert climb.airspeed_mps / KT == pytest.approx(speed, abs=1.5)
    taken = [flight.segment[c.start : c.stop] for c in climbs]
    outside = [np.mean(part != home) for part, home in zip(taken, homes, strict=True)]
    assert np.mean(outside) < 0.02
    assert max(outside) < 0.08


@pytest.mark.parametrize("rate", [climb_rate, sink_rate])
@pytest.mark.parametrize("wind", [0.0, 20.0])
def test_both_ways_make_a_pair_through_one_block(rate, wind):
    flight = sawtooth(SPEEDS, rate, wind_across_kt=wind, seed=3)
    climbs = measured(flight, found(flight))
    pairs = pair_climbs(climbs)
    assert [p.members for p in pairs] == [(2 * k, 2 * k + 1) for k in range(len(SPEEDS))]
    assert all(p.refusal is None for p in pairs)
    for pair in pairs:
        assert 3450.0 < pair.low_m / FT < pair.high_m / FT < 4550.0


def test_the_mean_of_both_ways_is_free_of_wind_that_grows_with_height():
    errors = []
    for seed in range(8):
        flight = sawtooth(SPEEDS, climb_rate, shear_kt_per_1000ft=8.0, seed=seed)
        climbs = measured(flight, found(flight))
        pairs = pair_climbs(climbs)
        for pair, speed in zip(pairs, SPEEDS, strict=True):
            rates = [climbs[i].rate_mps / FTMIN for i in pair.members]
            errors.append((np.mean(rates) - climb_rate(speed), rates[0] - climb_rate(speed)))
    mean, one_way = np.mean(errors, axis=0)
    assert abs(mean) < 8.0  # standard error of the mean of 40 pairs: about 2 ft/min
    assert one_way > 25.0


def test_a_climb_flown_one_way_stands_alone_and_says_why():
    flight = sawtooth(SPEEDS, climb_rate, both_ways=False, seed=2)
    pairs = pair_climbs(measured(flight, found(flight)))
    assert len(pairs) == len(SPEEDS)
    assert all("no partner on the opposite heading" in str(p.refusal) for p in pairs)
    alone = pair_climbs(measured(flight, found(flight))[:1])
    assert "flown one way only" in str(alone[0].refusal)


def test_no_climb_is_found_on_level_legs_in_turning_climbs_or_while_speeding_up():
    assert found(fly(box((90.0, 70.0)), seed=2)) == []
    assert found(fly([("turn", 300.0, 0.0, 2500.0, 900.0)], seed=2)) == []
    assert found(fly([("speeding up", 60.0, 60.0, 600.0, 0.0)], seed=2)) == []


def test_climbs_in_another_block_or_at_another_speed_are_no_pair():
    low = sawtooth((75.0,), climb_rate, seed=4)
    high = sawtooth((75.0,), climb_rate, block_ft=(5500.0, 6500.0), seed=5)
    one = measured(low, found(low))[0]
    other = measured(high, found(high))[1]
    assert "another block" in str(pair_climbs([one, other])[0].refusal)
    fast = sawtooth((95.0,), climb_rate, seed=6)
    assert "20 kt apart" in str(pair_climbs([one, measured(fast, found(fast))[1]])[0].refusal)


def test_a_hole_in_the_log_ends_a_climb_and_missing_samples_are_left_out():
    flight = sawtooth((75.0,), climb_rate, seed=7)
    place = np.flatnonzero(flight.segment == flight.flown[0])
    flight.airspeed[place[10:22]] = np.nan
    whole = measured(flight, found(flight))
    assert all(not (c.start < place[15] < c.stop) for c in whole)
    nothing = np.full(30, np.nan)
    assert find_climbs(nothing, nothing, nothing, nothing) == []
