"""Geopotential metres and normal gravity against published values."""

from __future__ import annotations

import numpy as np
import pytest

from fleetcal.airdata.geopotential import geopotential_height, normal_gravity

# Where gravity is the standard one: the latitude for which the standard atmosphere is made.
STANDARD_LATITUDE = np.radians(45.5425)


@pytest.mark.parametrize(
    ("latitude_deg", "gravity"),
    # WGS 84, NIMA TR8350.2, tables 3.3 and 3.4, from memory; the last one by symmetry
    [(0.0, 9.7803253359), (90.0, 9.8321849378), (-90.0, 9.8321849378)],
)
def test_gravity_at_the_equator_and_the_poles_is_the_published_one(latitude_deg, gravity):
    assert normal_gravity(np.radians(latitude_deg)) == pytest.approx(gravity, abs=1e-8)


@pytest.mark.parametrize(
    ("geometric_m", "geopotential_m"),
    # U.S. Standard Atmosphere, 1976, table I, from memory: whole metres
    [(0, 0), (1000, 1000), (2000, 1999), (3000, 2999), (5000, 4996), (8000, 7990), (11019, 11000)],
)
def test_geopotential_heights_are_those_of_the_standard_atmosphere(geometric_m, geopotential_m):
    found = float(geopotential_height(geometric_m, STANDARD_LATITUDE))
    assert found == pytest.approx(geopotential_m, abs=0.7)


def test_a_height_is_worth_less_at_the_equator_than_at_the_pole():
    equator, pole = geopotential_height(np.full(2, 3000.0), np.radians([0.0, 90.0]))
    assert pole - equator == pytest.approx(3000.0 * (9.8322 - 9.7803) / 9.80665, abs=0.1)
