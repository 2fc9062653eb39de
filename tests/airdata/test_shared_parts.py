"""A joint covariance as parts alone and parts shared, put together again."""

import numpy as np
import pytest

from fleetcal.airdata.shared_parts import MOST_PARTS, shared_parts


def covariance_of(seed, points, parts=3):
    """What a few shared causes and one of each point alone make."""
    rng = np.random.default_rng(seed)
    shared = rng.normal(0.0, 0.01, (points, parts))
    return shared @ shared.T + np.diag(rng.uniform(0.004, 0.02, points) ** 2)


def together(own, shared):
    return np.diag(own**2) + shared @ shared.T


@pytest.mark.parametrize("points", [1, 2, 3, 4, 7, 12])
@pytest.mark.parametrize("seed", range(5))
def test_variances_come_out_exactly(points, seed):
    covariance = covariance_of(seed, points)
    own, shared = shared_parts(covariance)
    np.testing.assert_allclose(np.diag(together(own, shared)), np.diag(covariance), rtol=1e-9)
    assert shared.shape == (points, min(MOST_PARTS, points - 1))
    assert (own > 0.0).all()


# five hundredths of a correlation at most: three parts do not always hold what three made
@pytest.mark.parametrize("points", [2, 3, 4])
@pytest.mark.parametrize("seed", range(20))
def test_covariances_of_few_points_come_out(points, seed):
    covariance = covariance_of(100 + seed, points)
    size = np.sqrt(np.diag(covariance))
    off = (together(*shared_parts(covariance)) - covariance) / np.outer(size, size)
    assert np.abs(off).max() < 0.05


def test_points_that_err_alike_share_a_sign_and_points_that_err_against_each_other_do_not():
    alike = np.array([[1.0, 0.6], [0.6, 1.0]])
    own, shared = shared_parts(alike)
    assert shared[0, 0] * shared[1, 0] == pytest.approx(0.6)
    np.testing.assert_allclose(own**2, 0.4, atol=1e-9)
    _, against = shared_parts(alike * [[1.0, -1.0], [-1.0, 1.0]])
    assert against[0, 0] * against[1, 0] == pytest.approx(-0.6)


def test_points_that_do_not_err_together_share_nothing():
    own, shared = shared_parts(np.diag([1.0, 4.0, 9.0]))
    np.testing.assert_allclose(own, [1.0, 2.0, 3.0])
    np.testing.assert_allclose(shared, 0.0, atol=1e-9)


def test_the_greatest_part_comes_first_and_sizes_go_with_the_points():
    covariance = covariance_of(3, 6)
    _, shared = shared_parts(covariance)
    sizes = (shared**2 / np.diag(covariance)[:, None]).sum(axis=0)
    assert np.all(np.diff(sizes) <= 0.0)
    scale = np.array([1.0, 10.0, 1.0, 0.1, 1.0, 2.0])
    _, scaled = shared_parts(covariance * np.outer(scale, scale))
    np.testing.assert_allclose(np.abs(scaled), np.abs(shared * scale[:, None]), rtol=1e-6)


def test_a_point_by_itself_has_all_of_it():
    own, shared = shared_parts(np.array([[0.04]]))
    assert own == pytest.approx([0.2])
    assert shared.shape == (1, 0)
