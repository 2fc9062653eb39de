from dataclasses import replace

import numpy as np
import pytest
from scipy.special import ndtr

from fleetcal.airdata.flight_pieces import Stretch, cut
from fleetcal.airdata.rounding import pieces_rounding, rounding_uncertainty
from tests.airdata.run_maker import alike


def rounded_mean_error(movement):
    """Exact: quadratic mean, over where the signal lies, of the bias that rounding leaves.

    The step is 1; the mean of the rounded Gaussian is a sum over the steps it may fall on.
    """
    centre = (np.arange(2000) + 0.5) / 2000 - 0.5
    step = np.arange(-12, 13)
    upper = ndtr((step + 0.5 - centre[:, None]) / movement)
    lower = ndtr((step - 0.5 - centre[:, None]) / movement)
    return np.sqrt(np.mean(((upper - lower) @ step - centre) ** 2))


@pytest.mark.parametrize("movement", [0.01, 0.02, 0.05, 0.1, 0.2, 0.3, 0.5])
def test_rounding_leaves_what_the_exact_mean_of_a_rounded_signal_shows(movement):
    expected = rounded_mean_error(movement)
    assert rounding_uncertainty(1.0, movement) == pytest.approx(expected, rel=2e-3)


@pytest.mark.parametrize("movement", [0.03, 0.15, 0.3])
def test_rounding_leaves_what_brute_force_shows(movement):
    generator = np.random.default_rng(int(1000 * movement))
    centre = generator.uniform(0.0, 1.0, 1500)
    signal = centre[:, None] + movement * generator.normal(size=(1500, 4000))
    bias = np.round(signal).mean(axis=1) - signal.mean(axis=1)
    # What 4,000 samples still scatter by is not rounding's bias: take it out in squares.
    scatter = (np.round(signal) - signal).var(axis=1).mean() / 4000.0
    found = np.sqrt(np.mean(bias**2) - scatter)
    assert rounding_uncertainty(1.0, movement) == pytest.approx(found, rel=0.05)


def test_a_signal_at_rest_keeps_the_whole_rounding_error():
    # A uniform distribution of one step (JCGM 100:2008, 4.3.7).
    assert rounding_uncertainty(1.0, 0.0) == pytest.approx(1.0 / np.sqrt(12.0), rel=1e-12)
    assert rounding_uncertainty(1.0, 1e-6) == pytest.approx(1.0 / np.sqrt(12.0), rel=3e-3)
    assert rounding_uncertainty(0.0, 0.0) == 0.0
    assert rounding_uncertainty(0.0, 2.0) == 0.0


def test_rounding_scales_with_the_step_and_falls_with_movement():
    assert rounding_uncertainty(0.5, 0.1) == pytest.approx(0.5 * rounding_uncertainty(1.0, 0.2))
    found = [rounding_uncertainty(1.0, m) for m in np.linspace(0.0, 1.0, 51)]
    assert np.all(np.diff(found) < 0.0)
    assert found[-1] < 1e-8


STEPS = {"airspeed": 0.5, "altitude": 3.0, "temperature": 1.0, "ground_speed": 0.5, "track": 0.02}


def two_pieces(move):
    """A piece that moves by so much of each step, and one at rest, to the north."""
    sign = move * np.where(np.arange(31) % 2 == 0, 1.0, -1.0)
    sign[-1] = 0.0
    off = np.append(sign, np.zeros(31))
    readings = alike(62)
    readings = replace(
        readings,
        airspeed_mps=readings.airspeed_mps + STEPS["airspeed"] * off,
        altitude_m=readings.altitude_m + STEPS["altitude"] * off,
        temperature_k=readings.temperature_k + STEPS["temperature"] * off,
    )
    speed, track = 50.0 + STEPS["ground_speed"] * off, np.pi + STEPS["track"] * off
    time_s = np.arange(62.0)
    return cut(
        [
            Stretch(
                group=0,
                time_s=time_s,
                east_mps=speed * np.sin(track),
                north_mps=speed * np.cos(track),
                readings=readings,
            )
        ]
    )


@pytest.mark.parametrize("move", [0.05, 0.2, 0.4])
def test_each_piece_has_the_rounding_that_its_own_movement_leaves(move):
    left = pieces_rounding(two_pieces(move), STEPS)
    moved = move * np.sqrt(30.0 / 31.0)
    for quantity, step in STEPS.items():
        # the track goes through south, where it jumps by a full turn, and moves no more for that
        assert left[quantity] == pytest.approx(
            [float(rounding_uncertainty(step, step * moved)), step / np.sqrt(12.0)], rel=5e-3
        )


def test_a_quantity_that_is_not_rounded_leaves_nothing():
    left = pieces_rounding(two_pieces(0.1), {"altitude": 3.0})
    assert np.all(left["altitude"] > 0.0)
    assert all(np.all(values == 0.0) for name, values in left.items() if name != "altitude")
