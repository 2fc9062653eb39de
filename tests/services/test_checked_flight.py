from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from fleetcal.services.bench.bench_corrections import BenchInForce
from fleetcal.services.flights.checked_flight import apply_bench
from fleetcal.services.flights.flown_leg import FlownLeg
from fleetcal.services.flights.read_flight import Flight, GroupedLegs
from fleetcal.store import BenchCheckRow
from tests.services.dry_air import DRY

pytestmark = pytest.mark.any_store("opens no store")

KT, FT = 1852.0 / 3600.0, 0.3048


def check(kind: str, *rows: tuple[float, float]) -> BenchCheckRow:
    return BenchCheckRow(
        bench_check_id=1,
        airframe="C-01",
        kind=kind,
        checked_on=date(2024, 3, 1),
        u=0.4,
        note="",
        withdrawn="",
        source_name="x.csv",
        sha256="0" * 64,
        rows=rows,
    )


BENCH = BenchInForce(
    check("airspeed", (50.0, 2.0), (150.0, 2.0)), check("altimeter", (0.0, -30.0), (9000.0, -30.0))
)


def array(value: float) -> np.ndarray:
    return np.array([value, value])


LEG = FlownLeg(
    start_s=0.0,
    stop_s=60.0,
    time_s=np.array([0.0, 60.0]),
    airspeed_mps=array(100 * KT),
    altitude_m=array(3000 * FT),
    temperature_k=array(280.0),
    east_mps=array(50.0),
    north_mps=array(0.0),
    recovery_factor=0.8,
    relative_humidity=array(0.0),
)
TURN = replace(LEG, airspeed_mps=array(90 * KT), altitude_m=array(2000 * FT))
BETWEEN = replace(LEG, airspeed_mps=array(98 * KT))
SLOW = replace(LEG, airspeed_mps=array(85 * KT), altitude_m=array(1000 * FT))
FLIGHT = Flight(
    source_name="x.csv",
    sha256="0" * 64,
    kind="log",
    flown_on=None,
    track_reference="true",
    airspeed_from="indicated_airspeed",
    leg_count=1,
    runs=(GroupedLegs(legs=(LEG, LEG), refusal="", flap_setting=None, turns=(BETWEEN,)),),
    manoeuvres=(TURN,),
    airspeeds=((SLOW,), (LEG, LEG)),
    steps={},
    warnings=(),
    air=DRY,
)


def test_every_sample_of_legs_and_manoeuvres_is_corrected_and_nothing_else() -> None:
    done = apply_bench(FLIGHT, BENCH)
    assert done.kinds == ("airspeed", "altimeter")
    assert done.warnings == ()
    (leg, _), (turn,) = done.flight.runs[0].legs, done.flight.manoeuvres
    assert leg.airspeed_mps / KT == pytest.approx(array(102.0))
    assert leg.altitude_m / FT == pytest.approx(array(2970.0))
    assert turn.airspeed_mps / KT == pytest.approx(array(92.0))
    assert turn.altitude_m / FT == pytest.approx(array(1970.0))
    assert np.array_equal(leg.east_mps, LEG.east_mps)
    assert np.array_equal(leg.temperature_k, LEG.temperature_k)
    assert LEG.airspeed_mps[0] == 100 * KT


def test_turns_between_legs_and_stretches_at_one_airspeed_are_corrected_too() -> None:
    done = apply_bench(FLIGHT, BENCH).flight
    (between,) = done.runs[0].turns
    assert between is not None
    assert between.airspeed_mps / KT == pytest.approx(array(100.0))
    (slow,), fast = done.airspeeds
    assert slow.airspeed_mps / KT == pytest.approx(array(87.0))
    assert slow.altitude_m / FT == pytest.approx(array(970.0))
    assert [float(leg.airspeed_mps[0]) / KT for leg in fast] == pytest.approx([102.0, 102.0])


@pytest.mark.parametrize("source", ["true_airspeed", "impact_pressure"])
def test_a_check_of_the_indicator_is_not_laid_on_another_column(source: str) -> None:
    done = apply_bench(replace(FLIGHT, airspeed_from=source), BENCH)
    assert done.kinds == ("altimeter",)
    assert np.array_equal(done.flight.runs[0].legs[0].airspeed_mps, LEG.airspeed_mps)
    (warning,) = done.warnings
    assert warning.startswith("the airspeed check is not applied")


def test_a_check_of_the_altimeter_is_not_laid_on_a_logged_pressure() -> None:
    done = apply_bench(replace(FLIGHT, altitude_from="static_pressure"), BENCH)
    assert done.kinds == ("airspeed",)
    assert np.array_equal(done.flight.runs[0].legs[0].altitude_m, LEG.altitude_m)
    assert "static pressure" in done.warnings[0]


def test_without_checks_a_flight_stays_as_it_was_logged() -> None:
    done = apply_bench(FLIGHT, BenchInForce())
    assert (done.kinds, done.warnings) == ((), ())
    assert np.array_equal(done.flight.runs[0].legs[0].airspeed_mps, LEG.airspeed_mps)


def test_one_warning_tells_the_range_of_all_parts_of_the_flight() -> None:
    narrow = BenchInForce(check("airspeed", (95.0, 2.0), (150.0, 2.0)))
    (warning,) = apply_bench(FLIGHT, narrow).warnings
    assert "from 95 to 150 kt, readings from 85 to 100 kt" in warning
