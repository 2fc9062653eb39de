"""The same change on several airframes."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import integrate, stats

from fleetcal.fleet.contrast import Contrast
from fleetcal.fleet.repeated_change import pool_changes

REACH = np.array([-0.1, 0.2])


def differences(values: list[float], u: float) -> list[Contrast]:
    """Return one constant difference an airframe, with its standard uncertainty."""
    one, square = np.ones(1), np.full((1, 1, 1), u**2)
    return [
        Contrast(
            order=0,
            weight=one,
            difference=np.full((1, 1), value),
            covariance=square,
            best=np.array([value]),
            p_value=np.nan,
        )
        for value in values
    ]


def test_the_mean_is_averaged_over_how_much_the_effect_differs() -> None:
    # the same model and prior 1 / (u^2 + sd^2) integrated by scipy's adaptive quadrature
    values, u = np.array([0.031, 0.012, 0.044, 0.027, 0.019]), 0.008

    def weight(log_sd: float) -> float:
        sd = np.exp(log_sd)
        scatter = np.sum((values - values.mean()) ** 2) / (sd**2 + u**2)
        return float(sd / (u**2 + sd**2) * (sd**2 + u**2) ** -2.0 * np.exp(-scatter / 2.0))

    def chance(log_sd: float) -> float:
        deviation = np.sqrt((np.exp(log_sd) ** 2 + u**2) / len(values))
        return weight(log_sd) * 2.0 * float(stats.norm.sf(abs(values.mean()) / deviation))

    reach = (np.log(1e-6), np.log(10.0))
    told = integrate.quad(chance, *reach, limit=500)[0] / integrate.quad(weight, *reach)[0]
    found, _ = pool_changes(differences(values.tolist(), u), REACH)
    assert found.best[0] == pytest.approx(values.mean(), rel=1e-6)
    assert found.p_value == pytest.approx(told, rel=0.15)
    band = found.band(np.array([0.25]))
    assert band.low[0] + band.high[0] == pytest.approx(2.0 * values.mean(), rel=1e-3)
    assert band.low[0] > 0.0


def test_an_unsure_difference_weighs_less() -> None:
    sure, unsure = differences([0.02, 0.02, 0.02], 0.002), differences([0.2], 0.2)
    found, _ = pool_changes([*sure, *unsure], REACH)
    assert found.best[0] == pytest.approx(0.02, abs=0.002)


def test_what_is_averaged_over_counts_as_uncertainty() -> None:
    # two nodes far apart: the scatter between them belongs to the difference
    spread = Contrast(
        order=0,
        weight=np.array([0.5, 0.5]),
        difference=np.array([[-0.1], [0.1]]),
        covariance=np.full((2, 1, 1), 1e-8),
        best=np.array([0.0]),
        p_value=np.nan,
    )
    found, _ = pool_changes([spread, *differences([0.03, 0.03, 0.03], 0.001)], REACH)
    assert found.best[0] == pytest.approx(0.03, abs=0.001)
