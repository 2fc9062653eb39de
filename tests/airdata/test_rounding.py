import numpy as np
import pytest
from scipy.special import ndtr

from fleetcal.airdata.rounding import rounding_uncertainty


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
