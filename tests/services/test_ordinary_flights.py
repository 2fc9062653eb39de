"""Flights without legs, solved entire at the airspeeds they were flown at."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path

import numpy as np
import pytest

from fleetcal.airdata.budget import Assumptions
from fleetcal.errors import NoRunError
from fleetcal.records import ORDINARY_FLIGHT
from fleetcal.services.bench.bench_corrections import BenchInForce
from fleetcal.services.flights.checked_flight import apply_bench
from fleetcal.services.flights.flight_weight import FlightWeight
from fleetcal.services.flights.flown_leg import FlownLeg
from fleetcal.services.flights.read_flight import Flight, read_flight
from fleetcal.services.flights.reduction import FlightDetails, Reduction
from fleetcal.services.flights.settings_file import ReductionSettings
from fleetcal.services.flights.solve_flight import solve_flight
from fleetcal.store import BenchCheckRow
from fleetcal.units import MPS_PER_KT as KT
from tests.airdata.simulations.ordinary import (
    ORDINARY_DAY,
    OrdinaryAirframe,
    each_ordinary_airframe,
)
from tests.airdata.simulations.season import log_text
from tests.services.dry_air import DRY

pytestmark = pytest.mark.any_store("opens no store")

NO_WEIGHT = FlightWeight(start_kg=None, time_s=np.empty(0), used_kg=np.empty(0))
DETAILS = FlightDetails(airframe=None, solve_by="flight")


def solved(flight: Flight, weight: FlightWeight = NO_WEIGHT, flaps: str = "up") -> Reduction:
    details = replace(DETAILS, flap_setting=flaps)
    return solve_flight(flight, details, Assumptions(), weight).result


def flown(
    at_s: float,
    lasting_s: int,
    airspeed_kt: float,
    turned_deg: float = 0.0,
    *,
    from_deg: float = 0.0,
    low_kt: float = 2.0,
) -> FlownLeg:
    """A stretch in a steady wind and dry air, with little gusts.

    Args:
        at_s: When it begins.
        turned_deg: Evenly, from its begin to its end.
        from_deg: Heading at its begin.
        low_kt: By how much the indicator reads too low.
    """
    rng = np.random.default_rng(round(at_s))
    heading = np.radians(from_deg + np.linspace(0.0, turned_deg, lasting_s))
    noise = rng.normal(0.0, 0.3, lasting_s)
    speed = (airspeed_kt + low_kt) * KT + noise
    return FlownLeg(
        start_s=at_s,
        stop_s=at_s + lasting_s - 1.0,
        time_s=at_s + np.arange(float(lasting_s)),
        airspeed_mps=airspeed_kt * KT + noise,
        altitude_m=np.zeros(lasting_s),
        temperature_k=np.full(lasting_s, 288.15),
        east_mps=speed * np.sin(heading) + 5.0,
        north_mps=speed * np.cos(heading) - 3.0,
        recovery_factor=0.0,
        relative_humidity=np.zeros(lasting_s),
    )


def flight(*airspeeds: tuple[FlownLeg, ...]) -> Flight:
    """A flight whose stretches at each airspeed are given, the slowest first."""
    return Flight(
        source_name="tour.csv",
        sha256="0" * 64,
        kind="log",
        flown_on=None,
        track_reference="true",
        airspeed_from="indicated_airspeed",
        leg_count=0,
        runs=(),
        manoeuvres=(),
        airspeeds=airspeeds,
        steps={},
        warnings=(),
        air=DRY,
    )


CIRCLES = flown(0.0, 240, 95.0, 720.0)
SLOW_AFTER = flown(250.0, 120, 65.0, 90.0)


@pytest.fixture(scope="module")
def airframe() -> OrdinaryAirframe:
    """An airframe with two simulated flights of an owner who tests nothing."""
    (one,) = each_ordinary_airframe(ORDINARY_DAY, range(1), 2, seed=7)
    return one


@pytest.fixture(scope="module")
def logged(airframe: OrdinaryAirframe, tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    """Their logs as files."""
    folder = tmp_path_factory.mktemp("ordinary")
    paths = []
    for number, one in enumerate(airframe.flights):
        paths.append(folder / f"{number}.csv")
        text = log_text(one.log, datetime(2025, 4, 1 + number, 9, tzinfo=UTC))
        paths[-1].write_text(text, encoding="utf-8")
    return paths


@pytest.mark.long
def test_a_flight_of_no_purpose_gives_points_at_the_airspeeds_it_was_flown_at(
    airframe: OrdinaryAirframe, logged: list[Path]
) -> None:
    inside = []
    for path, one in zip(logged, airframe.flights, strict=True):
        result = solved(read_flight(path, ReductionSettings()))
        assert result.technique == ORDINARY_FLIGHT
        assert result.legs == ()
        assert [run.number for run in result.runs] == sorted(run.number for run in result.runs)
        speeds = [run.vic_kt for run in result.runs]
        assert speeds == sorted(speeds)
        assert np.diff(speeds).min() > 4.0
        meant = {stretch.airspeed_kt for stretch in one.stretches}
        for run in result.runs:
            # what was meant is an airspeed nearby: he holds it within a few knots
            assert min(abs(run.vic_kt - kt) for kt in meant) < 6.0
            assert run.technique == ORDINARY_FLIGHT
            assert run.leg_count is None
            assert 1.0 <= run.load_factor < 1.1
            kappa = float(airframe.kappa_at(run.vic_kt * KT))
            error_kt = (run.kappa - kappa) * run.u_dvpc_kt / run.u_kappa
            inside.append(abs(error_kt) <= run.U95_dvpc_kt)
    # some ten intervals of 95 %: fewer than eight of ten hold in one of ninety
    assert len(inside) >= 8
    assert np.mean(inside) >= 0.75


def test_the_points_of_a_flight_share_what_the_wind_does() -> None:
    result = solved(flight((SLOW_AFTER,), (CIRCLES,)))
    assert len(result.runs) == 2
    for run in result.runs:
        owners = {term.name: term.owner for term in run.terms if term.kind == "A"}
        assert owners["leg scatter"] == "point"
        assert {own for name, own in owners.items() if name.startswith("moving wind")} == {"sortie"}
        assert "moving wind 1" in owners


def test_a_straight_stretch_is_solved_by_the_wind_of_the_turning_beside_it() -> None:
    slow, fast = solved(flight((SLOW_AFTER,), (CIRCLES,))).runs
    assert fast.dvpc_kt == pytest.approx(2.0, abs=0.3)
    assert slow.dvpc_kt == pytest.approx(2.0, abs=0.5)
    assert slow.u_dvpc_kt > fast.u_dvpc_kt


def test_an_airspeed_that_the_wind_leaves_open_is_named_and_gives_no_point() -> None:
    hours_later = flown(3.0 * 3600.0, 120, 65.0)
    result = solved(flight((hours_later,), (CIRCLES,)))
    (left,) = result.runs
    assert left.number == 2
    (refused,) = result.refused
    assert refused.run == 1
    assert refused.leg_count is None
    assert refused.reason.startswith("at 65 kt wind and gusts leave the correction open by ")
    assert "more courses" in refused.reason


def test_an_airspeed_no_port_can_be_so_wrong_at_gives_no_point() -> None:
    wrong = flown(250.0, 120, 65.0, 360.0, low_kt=40.0)
    result = solved(flight((wrong,), (CIRCLES,)))
    assert [run.number for run in result.runs] == [2]
    (refused,) = result.refused
    assert "wrong by more than any static port can" in refused.reason


@pytest.mark.parametrize("turned_deg", [0.0, 120.0])
def test_a_flight_whose_course_never_changes_is_refused(turned_deg: float) -> None:
    straight = flown(0.0, 600, 95.0, turned_deg)
    with pytest.raises(NoRunError, match="the course hardly changed") as raised:
        solved(flight((straight,)))
    assert raised.value.message.startswith("tour.csv: ")
    assert "full circle" in raised.value.hint


def test_a_flight_of_no_steady_airspeed_is_refused() -> None:
    with pytest.raises(NoRunError, match="no part of the flight was flown at one airspeed") as no:
        solved(flight())
    assert "table airspeeds" in no.value.hint


def test_a_flight_that_leaves_every_airspeed_open_is_refused_with_the_reason() -> None:
    # one course each two hours, between which the wind may be any
    straight = tuple(flown(7200.0 * n, 60, 95.0, from_deg=120.0 * n) for n in range(3))
    with pytest.raises(NoRunError, match="tells nothing of its airspeed errors: at 95 kt") as no:
        solved(flight(straight))
    assert "on more courses" in no.value.hint


def test_what_is_supposed_of_the_flaps_is_said() -> None:
    (note,) = solved(flight((CIRCLES,)), flaps="15").notes
    assert note.startswith("Flaps are taken as 15 all flight")
    assert "slowest_kt" in note


def test_the_weight_of_an_airspeed_is_the_mean_over_its_stretches() -> None:
    long, short = flown(0.0, 300, 95.0, 720.0), flown(3600.0, 100, 95.0, 360.0)
    burnt = FlightWeight(
        start_kg=600.0, time_s=np.array([0.0, 3600.0]), used_kg=np.array([0.0, 36.0])
    )
    (run,) = solved(flight((long, short)), burnt).runs
    at = [600.0 - 36.0 * 149.5 / 3600.0, 600.0 - 36.0]  # after the last fuel is noted: the last
    assert run.weight_kg == pytest.approx((3.0 * at[0] + at[1]) / 4.0, abs=0.05)
    (early,) = solved(flight((long,)), burnt).runs
    assert early.weight_kg == pytest.approx(at[0], abs=0.05)


def test_a_bench_correction_reaches_every_stretch() -> None:
    one = flight((SLOW_AFTER,), (CIRCLES,))
    check = BenchCheckRow(
        bench_check_id=1,
        airframe="C-01",
        kind="airspeed",
        checked_on=date(2024, 3, 1),
        u=0.4,
        note="",
        withdrawn="",
        source_name="x.csv",
        sha256="0" * 64,
        rows=((40.0, 2.0), (150.0, 2.0)),
    )
    corrected = apply_bench(one, BenchInForce(check)).flight
    for before, after in zip(solved(one).runs, solved(corrected).runs, strict=True):
        assert after.vic_kt == pytest.approx(before.vic_kt + 2.0, abs=0.01)
        # reads 2 kt too low by nature, which the bench has found
        assert after.dvpc_kt == pytest.approx(before.dvpc_kt - 2.0, abs=0.05)
