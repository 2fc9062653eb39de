"""What an error of an input of climbs and cruise does is what stands in the budget for it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from ambiance import Atmosphere

from fleetcal.airdata.budget import Assumptions
from fleetcal.airdata.performance.generalised_power import LevelFlight
from fleetcal.services.performance.climb_points import climb_points
from fleetcal.services.performance.cruise_runs import CruiseRuns, cruise_points
from seed_demo.performance_truth import PLANTS
from tests.fleet.simulations.carried_weight import CLIMB_KT, TYPE, flown_rows

pytestmark = pytest.mark.any_store("opens no store")

SCALING_KT = 40.0


def test_a_tenth_of_the_thrust_power_is_in_doubt() -> None:
    """A climb 10 % over reference weight, in air warmer than standard by a tenth."""
    plant = PLANTS[0]
    state = next(one.tag for one in plant.states if one.estimate_kw > 0.0)
    rows = flown_rows(plant, state, CLIMB_KT, 1.1 * TYPE.reference_weight_kg)
    standard_k = rows[0].oat_degc + 273.15
    warm = [replace(row, oat_degc=standard_k / 0.9 - 273.15) for row in rows]
    speed_mps = CLIMB_KT * 1852.0 / 3600.0 / np.sqrt(Atmosphere(2000.0 * 0.3048).density / 1.225)
    lift = 1.1 * (TYPE.scaling_speed_kt / CLIMB_KT) ** 2
    passed_on = (1.0 - 0.9) + (1.1**1.5 - 1.0)
    for row, s, tas, point in zip(
        warm, lift, speed_mps, climb_points(TYPE, warm, CLIMB_KT), strict=True
    ):
        (term,) = [one for one in point.terms if one.name.startswith("thrust power of ")]
        rate_mps = 0.1 * passed_on * row.thrust_rate_ftmin * 0.3048 / 60.0
        assert term.owner == "fleet"
        assert term.u == pytest.approx(s * rate_mps / tas, rel=0.01)


def cruise(error_m: float = 0.0) -> CruiseRuns:
    """Runs on one straight line, in the air of a height that is that much too high."""
    tas, ones = np.array([80.0, 95.0, 110.0]), np.ones(3)
    taken, air = (float(Atmosphere(m).density[0]) / 1.225 for m in (1500.0 + error_m, 1500.0))
    none = 1e-9 * ones
    true = LevelFlight(ones, tas, air * ones, ones)
    power = (0.3 + 0.5 * true.abscissa(SCALING_KT)) / true.coefficient(SCALING_KT)
    return CruiseRuns(
        flight=LevelFlight(power, tas, taken * ones, ones),
        u_power=none,
        u_reading=none,
        u_tas=none,
        u_temperature=none,
        charted=0.0 * ones,
        sortie=np.zeros(3, dtype=np.int64),
        aircraft=np.zeros(3, dtype=np.int64),
        group_of=np.zeros(1, dtype=np.int64),
    )


def test_the_altimeter_s_doubt_is_how_far_its_error_moves_a_run_off_the_line() -> None:
    right = cruise_points(cruise(), SCALING_KT)
    wrong = cruise_points(cruise(Assumptions().u_altitude_m), SCALING_KT)
    assert right.y == pytest.approx(0.3 + 0.5 * right.x)
    assert right.u_airframe is not None
    moved = wrong.y - (0.3 + 0.5 * wrong.x)
    assert -right.u_airframe[:, 1] == pytest.approx(moved, rel=0.05)
