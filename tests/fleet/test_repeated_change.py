"""The same change on several airframes."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from fleetcal.fleet.contrast import Contrast
from fleetcal.fleet.repeated_change import pool_changes

REACH = np.array([-0.1, 0.2])


def differences(values: list[float], u: float) -> list[Contrast]:
    """Return one constant difference an airframe, with its standard uncertainty."""
    one, square = np.ones(1), np.full((1, 1, 1), u**2)
    return [
        Contrast(0, one, np.full((1, 1), value), square, np.array([value]), np.nan)
        for value in values
    ]


def test_sure_differences_are_pooled_by_students_t() -> None:
    # exact while each difference is nearly sure: one sample against zero (scipy)
    values = [0.031, 0.012, 0.044, 0.027, 0.019]
    found, _ = pool_changes(differences(values, 1e-5), REACH)
    told = stats.ttest_1samp(values, 0.0)
    assert found.best[0] == pytest.approx(np.mean(values), rel=1e-6)
    assert found.p_value == pytest.approx(told.pvalue, rel=0.1)
    band, limits = found.band(np.array([0.25])), told.confidence_interval(0.95)
    assert band.low[0] == pytest.approx(limits.low, rel=0.05)
    assert band.high[0] == pytest.approx(limits.high, rel=0.05)


def test_an_unsure_difference_weighs_less() -> None:
    sure, unsure = differences([0.02, 0.02, 0.02], 0.002), differences([0.2], 0.2)
    found, _ = pool_changes([*sure, *unsure], REACH)
    assert found.best[0] == pytest.approx(0.02, abs=0.002)


def test_what_is_averaged_over_counts_as_uncertainty() -> None:
    # two nodes far apart: the scatter between them belongs to the difference
    spread = Contrast(
        0,
        np.array([0.5, 0.5]),
        np.array([[-0.1], [0.1]]),
        np.full((2, 1, 1), 1e-8),
        np.array([0.0]),
        np.nan,
    )
    found, _ = pool_changes([spread, *differences([0.03, 0.03, 0.03], 0.001)], REACH)
    assert found.best[0] == pytest.approx(0.03, abs=0.001)
