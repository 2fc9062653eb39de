"""Products over many covariances are what the sums written out give."""

from __future__ import annotations

import numpy as np
import pytest

from fleetcal.fleet.basis import carried_along, variance_along


@pytest.mark.parametrize("size", [1, 2, 3])
def test_variances_and_carried_covariances_are_those_of_each_alone(size: int) -> None:
    rng = np.random.default_rng(size)
    root = rng.normal(size=(40, size, size))
    covariance = root @ root.swapaxes(1, 2)
    rows = rng.normal(size=(7, size))
    each = np.array([rows @ one @ rows.T for one in covariance])
    assert carried_along(rows, covariance) == pytest.approx(each, rel=1e-12, abs=1e-14)
    alone = np.diagonal(each, axis1=1, axis2=2)
    assert variance_along(rows, covariance) == pytest.approx(alone, rel=1e-12)
