import numpy as np
import pytest

from fleetcal.airdata.sample_noise import estimate_noise


def remembering(rng, shape, memory_s):
    """Stationary first-order autoregressive noise of unit variance at 1 Hz."""
    rho = np.exp(-1.0 / memory_s)
    noise = np.empty(shape)
    noise[..., 0] = rng.normal(size=shape[:-1])
    fresh = rng.normal(size=shape) * np.sqrt(1.0 - rho**2)
    for i in range(1, shape[-1]):
        noise[..., i] = rho * noise[..., i - 1] + fresh[..., i]
    return noise


@pytest.mark.parametrize(
    ("memory_s", "low", "high"), [(2.0, 1.0, 1.35), (5.0, 0.95, 1.3), (10.0, 0.9, 1.2)]
)
def test_the_uncertainty_of_a_leg_mean_is_near_what_the_means_scatter_by(memory_s, low, high):
    rng = np.random.default_rng(3)
    legs = remembering(rng, (80, 4, 60), memory_s)
    stated = [estimate_noise(list(run), 1.0).mean_uncertainty(60.0) for run in legs]
    found = remembering(rng, (4000, 60), memory_s).mean(axis=1).std()
    # 80 runs of four legs: Monte Carlo error of the ratio about 4 %; four legs of six
    # memories cannot tell the memory better, and too large is the safe side
    assert low < np.sqrt(np.mean(np.square(stated))) / found < high


def test_four_long_legs_tell_the_memory():
    rng = np.random.default_rng(4)
    found = [
        estimate_noise(list(remembering(rng, (4, 900), 10.0)), 1.0).mean_memory_s()
        for _ in range(20)
    ]
    assert np.median(found) == pytest.approx(10.0, rel=0.25)


def test_noise_scales_with_the_series_and_ignores_its_offset():
    legs = remembering(np.random.default_rng(5), (4, 60), 8.0)
    once = estimate_noise(list(legs), 1.0).mean_uncertainty(60.0)
    again = estimate_noise([3.0 * leg + 7.0 for leg in legs], 1.0).mean_uncertainty(60.0)
    assert again == pytest.approx(3.0 * once, rel=1e-9)


def test_a_fast_log_tells_the_same_as_the_slow_one_it_was_thinned_from():
    rng = np.random.default_rng(6)
    fast = np.repeat(remembering(rng, (4, 60), 8.0), 10, axis=1)  # held values are not new ones
    slow = fast[:, ::10]
    assert estimate_noise(list(fast), 0.1).mean_uncertainty(60.0) == pytest.approx(
        estimate_noise(list(slow), 1.0).mean_uncertainty(60.0), rel=1e-9
    )


@pytest.mark.parametrize("series", [[], [np.ones(2)], [np.full(60, 3.3)]])
def test_series_that_tell_nothing_leave_no_scatter(series):
    assert estimate_noise(series, 1.0).mean_uncertainty(60.0) == 0.0
