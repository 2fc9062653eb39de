"""The covariance of plain least squares against what fits to remembering noise scatter by."""

import numpy as np
import pytest

from fleetcal.airdata.robust_covariance import robust_covariance


def remembering(rng, shape, memory_s):
    """First-order autoregressive series of unit variance at 1 Hz."""
    rho = np.exp(-1.0 / memory_s)
    fresh = rng.normal(size=shape)
    series = np.empty(shape)
    series[..., 0] = fresh[..., 0]
    for i in range(1, shape[-1]):
        series[..., i] = rho * series[..., i - 1] + np.sqrt(1.0 - rho**2) * fresh[..., i]
    return series


def turning(seconds):
    time_s = np.arange(float(seconds))
    turn = np.radians(3.0 * time_s)
    return time_s, np.column_stack([np.sin(turn), np.cos(turn), np.ones(seconds)])


# The fit supposes no memory and the simulation has one. 400 fits: Monte Carlo error of a ratio 4 %.
@pytest.mark.parametrize("seconds", [120, 240, 480])
@pytest.mark.parametrize("memory_s", [1.0, 8.0, 20.0])
def test_stated_scatter_is_not_below_what_fits_scatter_by(seconds, memory_s):
    rng = np.random.default_rng(7)
    time_s, jacobian = turning(seconds)
    gain = np.linalg.pinv(jacobian)
    errors, stated, freedom = [], [], []
    for noise in remembering(rng, (400, seconds), memory_s):
        error = gain @ noise
        found = robust_covariance(gain, jacobian, noise - jacobian @ error, time_s)
        errors.append(error)
        stated.append(np.diag(found.covariance))
        freedom.append(found.degrees_of_freedom)
    ratio = np.sqrt(np.mean(stated, axis=0) / np.mean(np.square(errors), axis=0))
    # it errs to the wide side where the noise remembers less than the longest memory supposed
    assert np.all((ratio > 0.9) & (ratio < 3.0)), ratio
    assert np.min(freedom) >= 1.0


def test_white_noise_in_a_long_series_gives_the_textbook_covariance():
    rng = np.random.default_rng(8)
    time_s, jacobian = turning(3600)
    gain = np.linalg.pinv(jacobian)
    textbook = np.diag(np.linalg.inv(jacobian.T @ jacobian))
    stated = []
    for noise in rng.normal(size=(100, 3600)):
        found = robust_covariance(gain, jacobian, noise - jacobian @ (gain @ noise), time_s)
        stated.append(np.diag(found.covariance))
    np.testing.assert_allclose(np.mean(stated, axis=0), textbook, rtol=0.15)
