"""A whole flight from its legs to its points, without any store."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest

from fleetcal.airdata.atmosphere import Array
from fleetcal.airdata.budget import Assumptions
from fleetcal.errors import OutOfRangeError
from fleetcal.services.flights.corrections_found import coverage_factor
from fleetcal.services.flights.flight_weight import FlightWeight
from fleetcal.services.flights.flown_leg import FlownLeg
from fleetcal.services.flights.read_flight import Flight, GroupedLegs
from fleetcal.services.flights.reduction import FlightDetails
from fleetcal.services.flights.solve_flight import solve_flight
from tests.services.dry_air import DRY

pytestmark = pytest.mark.any_store("opens no store")

NO_WEIGHT = FlightWeight(start_kg=None, time_s=np.empty(0), used_kg=np.empty(0))


def leg(
    track_deg: float,
    altitude_m: float = 1000.0,
    airspeed_mps: float = 50.0,
    speed_mps: float = 52.0,
) -> FlownLeg:
    rng = np.random.default_rng(round(track_deg))
    count = 60
    speed = speed_mps + rng.normal(0.0, 0.3, count)
    track = np.radians(track_deg)
    start = track_deg
    return FlownLeg(
        start_s=start,
        stop_s=start + count - 1.0,
        time_s=start + np.arange(float(count)),
        airspeed_mps=np.full(count, airspeed_mps),
        altitude_m=np.full(count, altitude_m),
        temperature_k=np.full(count, 281.65),
        east_mps=speed * np.sin(track) + 4.0,
        north_mps=speed * np.cos(track) - 3.0,
        recovery_factor=0.8,
        relative_humidity=np.zeros(count),
    )


def flight(*runs: GroupedLegs) -> Flight:
    return Flight(
        source_name="logs.csv",
        sha256="0" * 64,
        kind="log",
        flown_on=None,
        track_reference="true",
        airspeed_from="indicated_airspeed",
        leg_count=4,
        runs=runs,
        manoeuvres=(),
        airspeeds=(),
        steps={},
        warnings=(),
        air=DRY,
    )


BOX = GroupedLegs(
    legs=tuple(leg(track) for track in (10.0, 100.0, 190.0, 280.0)), refusal="", flap_setting=None
)
TRIANGLE = GroupedLegs(legs=BOX.legs[:3], refusal="", flap_setting=None)


# JCGM 100:2008, table G.2, for 95 %.
@pytest.mark.parametrize(
    ("freedom", "factor"), [(1.0, 12.71), (5.0, 2.57), (10.0, 2.23), (np.inf, 1.96)]
)
def test_the_coverage_factor_is_that_of_the_guide(freedom: float, factor: float) -> None:
    assert coverage_factor(freedom) == pytest.approx(factor, abs=0.005)


def test_a_reading_out_of_range_names_the_file_and_the_run() -> None:
    wild = GroupedLegs(
        legs=tuple(leg(track, 90000.0) for track in (10.0, 100.0, 190.0)),
        refusal="",
        flap_setting=None,
    )
    with pytest.raises(OutOfRangeError) as raised:
        solve_flight(flight(BOX, wild), FlightDetails(airframe=None), Assumptions(), NO_WEIGHT)
    assert raised.value.message.startswith("logs.csv, run 2: ")
    assert raised.value.hint


def read_once(run: GroupedLegs) -> GroupedLegs:
    """The same legs as a sheet has them, one reading each."""

    def mean(values: Array) -> Array:
        return np.array([values.mean()])

    legs = tuple(
        replace(
            one,
            time_s=mean(one.time_s),
            airspeed_mps=mean(one.airspeed_mps),
            altitude_m=mean(one.altitude_m),
            temperature_k=mean(one.temperature_k),
            east_mps=mean(one.east_mps),
            north_mps=mean(one.north_mps),
            relative_humidity=mean(one.relative_humidity),
        )
        for one in run.legs
    )
    return replace(run, legs=legs)


@pytest.mark.parametrize(
    ("legs", "lacks"),
    [
        (flight(read_once(TRIANGLE)), True),
        (flight(read_once(BOX)), False),
        (flight(TRIANGLE), False),
    ],
    ids=["three legs of a sheet", "four legs of a sheet", "three legs of a log"],
)
def test_the_scatter_of_earlier_flights_counts_only_where_a_flight_shows_none(
    legs: Flight, lacks: bool
) -> None:
    details = FlightDetails(airframe=None)
    own = solve_flight(legs, details, Assumptions(), NO_WEIGHT)
    rough = solve_flight(legs, details, Assumptions(leg_scatter_mps=1.5), NO_WEIGHT)
    assert (own.lacks_scatter, rough.lacks_scatter) == (lacks, lacks)
    if lacks:
        assert rough.result.runs[0].u_kappa > 1.5 * own.result.runs[0].u_kappa
    else:
        assert repr(rough.result) == repr(own.result)  # NaN where nothing was logged


def test_a_kappa_that_units_make_is_warned_of_and_a_believable_one_is_not() -> None:
    def warnings(airspeed_mps: float) -> tuple[str, ...]:
        legs = tuple(leg(track, airspeed_mps=airspeed_mps) for track in (10.0, 100.0, 190.0))
        run = GroupedLegs(legs=legs, refusal="", flap_setting=None)
        return solve_flight(
            flight(run), FlightDetails(airframe=None), Assumptions(), NO_WEIGHT
        ).result.warnings

    assert warnings(50.0) == ()
    (high,) = warnings(50.0 / 0.8690)  # knots shown as miles an hour
    assert high.startswith("run 1: the airspeed is off by -")
    assert "nothing contradicts that, so it counts" in high
    (low,) = warnings(50.0 * 0.8690)
    assert low.startswith("run 1: the airspeed is off by +")


def test_a_flight_whose_speeds_are_all_scaled_alike_is_not_accepted() -> None:
    def accepted(*factors: float, speeds_mps: Sequence[float] = (52.0, 40.0)) -> list[bool]:
        runs = [
            GroupedLegs(
                legs=tuple(
                    leg(t, airspeed_mps=50.0 / 52.0 * speed * factor, speed_mps=speed)
                    for t in (10.0, 100.0, 190.0)
                ),
                refusal="",
                flap_setting=None,
            )
            for speed, factor in zip(speeds_mps, factors, strict=False)
        ]
        done = solve_flight(flight(*runs), FlightDetails(airframe=None), Assumptions(), NO_WEIGHT)
        for line in done.result.runs:
            assert ("all speeds flown would be off alike" in line.reason) != line.accepted
            assert ("knots and miles an hour" in line.reason) != line.accepted
        return [line.accepted for line in done.result.runs]

    mph = 1.852 / 1.609344
    assert accepted(mph, mph / 1.02) == [False, False]  # miles an hour, called knots
    assert accepted(1.0 / mph, 1.02 / mph) == [False, False]
    # nothing else was flown, or at the same speed only: nothing contradicts
    assert accepted(1.0 / mph) == [True]
    assert accepted(mph, mph / 1.02, speeds_mps=(52.0, 51.0)) == [True, True]
    # a port may be that wrong when slow, a unit at all speeds
    assert accepted(0.97, 1.0 / mph) == [True, True]
    assert accepted(0.90, 0.82) == [True, True]


def test_a_run_has_the_plain_means_of_its_legs_however_long_each_is() -> None:
    slow = flight(BOX).runs[0].legs[0]
    short = replace(
        slow,
        stop_s=slow.time_s[19],
        **{
            name: getattr(slow, name)[:20]
            for name in (
                *("time_s", "altitude_m", "temperature_k", "east_mps", "north_mps"),
                "relative_humidity",
            )
        },
        airspeed_mps=slow.airspeed_mps[:20] - 2.0,
    )
    run = replace(BOX, legs=(short, *BOX.legs[1:]))
    result = solve_flight(
        flight(run), FlightDetails(airframe=None), Assumptions(), NO_WEIGHT
    ).result
    (line,) = result.runs
    for name in ("vic_kt", "tas_kt"):
        plain = np.mean([getattr(leg, name) for leg in result.legs])
        assert getattr(line, name) == pytest.approx(plain, rel=1e-9)
