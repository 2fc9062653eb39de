"""Many runs in steady winds, all at once: what was put into their legs comes out."""

from __future__ import annotations

import numpy as np
import pytest

from fleetcal.airdata.many_runs import steady_kappas
from fleetcal.airdata.reading import Readings

TRACKS = {
    3: [10.0, 130.0, 250.0],
    4: [20.0, 110.0, 200.0, 290.0],
    5: [0.0, 72.0, 144.0, 216.0, 288.0],
}


def flown(seed: int, runs: int) -> tuple[np.ndarray, np.ndarray, np.ndarray, Readings, np.ndarray]:
    """Legs of many runs without any noise, and the kappa of each run."""
    rng = np.random.default_rng(seed)
    kappa = rng.uniform(-0.1, 0.15, runs)
    run, heading, airspeed, wind = [], [], [], []
    for number in range(runs):
        headings = TRACKS[int(rng.integers(3, 6))]
        here, speed = rng.normal(0.0, 6.0, 2), rng.uniform(28.0, 70.0)
        for one in headings:
            run.append(number)
            heading.append(np.radians(one + rng.uniform(-15.0, 15.0)))
            airspeed.append(speed + rng.normal(0.0, 0.5))
            wind.append(here)
    places = np.array(run)
    readings = Readings(
        airspeed_mps=np.array(airspeed),
        altitude_m=np.full(len(run), 1200.0),
        temperature_k=np.full(len(run), 278.0),
        recovery_factor=np.asarray(0.9),
    )
    through_air, _ = readings.true_airspeed(kappa[places])
    air = through_air[:, None] * np.column_stack([np.sin(heading), np.cos(heading)])
    ground = air + np.array(wind)
    return places, ground[:, 0], ground[:, 1], readings, kappa


@pytest.mark.parametrize("seed", range(3))
def test_every_run_has_the_kappa_that_it_was_flown_with(seed: int) -> None:
    run, east, north, readings, kappa = flown(seed, 400)
    np.testing.assert_allclose(steady_kappas(run, east, north, readings), kappa, atol=1e-8)


def test_a_run_on_one_track_has_none_and_spoils_no_other() -> None:
    run, east, north, readings, kappa = flown(7, 3)
    one = run == 1
    east[one], north[one] = 50.0, 3.0
    found = steady_kappas(run, east, north, readings)
    assert np.isnan(found[1])
    np.testing.assert_allclose(found[[0, 2]], kappa[[0, 2]], atol=1e-8)
