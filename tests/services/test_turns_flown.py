"""What is flown between the legs of a run, and when it counts."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from fleetcal.airdata.budget import Assumptions
from fleetcal.services.flights.cut_legs import Recorded, cut_leg
from fleetcal.services.flights.flight_weight import FlightWeight
from fleetcal.services.flights.flown_leg import FlownLeg
from fleetcal.services.flights.read_flight import Flight, GroupedLegs
from fleetcal.services.flights.reduction import FlightDetails
from fleetcal.services.flights.solve_flight import solve_flight
from fleetcal.services.flights.turns_flown import turns_between
from fleetcal.units import M_PER_FT
from fleetcal.units import MPS_PER_KT as KT
from tests.services.dry_air import DRY

pytestmark = pytest.mark.any_store("opens no store")

LEG_S, SPEED_MPS = 100, 46.0
WIND_MPS = (4.0, -3.0)
NO_WEIGHT = FlightWeight(start_kg=None, time_s=np.empty(0), used_kg=np.empty(0))


def log(turn_s: int, turns: int = 3, turned_deg: float = 90.0) -> tuple[Recorded, list[FlownLeg]]:
    """Straight legs with level turns between them, in a steady wind and calm air."""
    rate = np.concatenate(
        [
            np.zeros(LEG_S),
            *[np.r_[np.full(turn_s, turned_deg / turn_s), np.zeros(LEG_S)] for _ in range(turns)],
        ]
    )
    heading = np.radians(np.cumsum(rate))
    noise = np.random.default_rng(1).normal(0.0, 0.3, heading.size)
    east = (SPEED_MPS * 1.06 + noise) * np.sin(heading) + WIND_MPS[0]
    north = (SPEED_MPS * 1.06 + noise) * np.cos(heading) + WIND_MPS[1]
    recorded = Recorded(
        source_name="flight.csv",
        t_s=np.arange(float(heading.size)),
        airspeed_mps=np.full(heading.size, SPEED_MPS) + noise,
        altitude_m=np.full(heading.size, 900.0),
        temperature_k=np.full(heading.size, 282.0),
        ground_speed_mps=np.hypot(east, north),
        track_rad=np.arctan2(east, north),
        relative_humidity=np.zeros(heading.size),
        taken=DRY,
    )
    begins = [place * (LEG_S + turn_s) for place in range(turns + 1)]
    return recorded, [cut_leg(recorded, begin, begin + LEG_S) for begin in begins]


def in_turn(recorded: Recorded, name: str, change: float) -> Recorded:
    """Change a reading in the first turn, 60 s long."""
    values = getattr(recorded, name).copy()
    values[LEG_S : LEG_S + 60] += change
    return replace(recorded, **{name: values})


def counted(recorded: Recorded, legs: list[FlownLeg]) -> list[bool]:
    return [turn is not None for turn in turns_between(recorded, legs)]


def test_gentle_turns_between_legs_count_with_every_sample_of_theirs() -> None:
    recorded, legs = log(60)
    turns = turns_between(recorded, legs)
    assert len(turns) == 3
    for place, turn in enumerate(turns):
        assert turn is not None
        begin = LEG_S + place * (LEG_S + 60)
        assert turn.time_s.tolist() == list(range(begin, begin + 60))


# 90 degrees in 20 s at 95 kt are 23 degrees of bank; in 60 s, 8 degrees.
@pytest.mark.parametrize(("turn_s", "counts"), [(60, True), (25, True), (12, False), (6, False)])
def test_a_steep_or_very_short_turn_does_not_count(turn_s: int, counts: bool) -> None:
    assert counted(*log(turn_s)) == [counts] * 3


@pytest.mark.parametrize(("pause_s", "counts"), [(140, True), (160, False)])
def test_a_long_pause_is_no_turn(pause_s: int, counts: bool) -> None:
    assert counted(*log(pause_s)) == [counts] * 3


@pytest.mark.parametrize(
    ("name", "little", "much"),
    [
        ("airspeed_mps", 3.0 * KT, 5.0 * KT),
        ("airspeed_mps", -3.0 * KT, -5.0 * KT),
        ("altitude_m", 100.0 * M_PER_FT, 200.0 * M_PER_FT),
    ],
)
def test_a_turn_at_another_airspeed_or_altitude_does_not_count(
    name: str, little: float, much: float
) -> None:
    recorded, legs = log(60)
    assert counted(in_turn(recorded, name, little), legs) == [True, True, True]
    assert counted(in_turn(recorded, name, much), legs) == [False, True, True]


def test_one_gust_in_a_turn_takes_no_sample_of_it_away() -> None:
    recorded, legs = log(60)
    airspeed = recorded.airspeed_mps.copy()
    airspeed[LEG_S + 20 : LEG_S + 24] += 12.0 * KT
    (turn, *_) = turns_between(replace(recorded, airspeed_mps=airspeed), legs)
    assert turn is not None
    assert turn.samples == 60


def test_a_turn_without_readings_does_not_count_and_is_no_error() -> None:
    recorded, legs = log(60)
    assert counted(in_turn(recorded, "temperature_k", np.nan), legs) == [False, True, True]


def flight(recorded: Recorded, legs: list[FlownLeg], dropped: tuple[int, ...] = ()) -> Flight:
    run = GroupedLegs(
        legs=tuple(legs),
        refusal="",
        flap_setting=None,
        turns=turns_between(recorded, legs),
        dropped=dropped,
    )
    return Flight(
        source_name="flight.csv",
        sha256="",
        kind="log",
        flown_on=None,
        track_reference="true",
        airspeed_from="indicated_airspeed",
        leg_count=len(legs),
        runs=(run,),
        manoeuvres=(),
        airspeeds=(),
        steps={},
        warnings=(),
        air=DRY,
    )


def kappa_of(one: Flight) -> float:
    details = FlightDetails(airframe=None)
    (line,) = solve_flight(one, details, Assumptions(), NO_WEIGHT).result.runs
    return line.kappa


def without_turns(one: Flight, *numbers: int) -> Flight:
    """The flight with these turns, counted from 1, not counting."""
    (run,) = one.runs
    turns = tuple(None if n in numbers else turn for n, turn in enumerate(run.turns, 1))
    return replace(one, runs=(replace(run, turns=turns),))


@pytest.mark.long
def test_a_turn_beside_a_leg_that_is_left_out_is_left_out_with_it() -> None:
    recorded, legs = log(60)
    # readings of the first turn are off, so that it tells in the answer
    one = flight(in_turn(recorded, "airspeed_mps", 2.0 * KT), legs)
    assert kappa_of(one) != kappa_of(without_turns(one, 1))
    for dropped, gone in ((1, (1,)), (2, (1, 2)), (4, (3,))):
        (run,) = one.runs
        left = replace(one, runs=(replace(run, dropped=(dropped,)),))
        assert kappa_of(left) == kappa_of(without_turns(left, *gone))
        other = next(n for n in (1, 2, 3) if n not in gone)
        assert kappa_of(left) != kappa_of(without_turns(left, *gone, other))


def test_a_leg_between_two_others_is_no_turn() -> None:
    recorded, legs = log(20, turned_deg=60.0)
    first, second, third, _ = legs
    assert counted(recorded, [first, third]) == [True]  # for one who knows of no leg there
    (between,) = turns_between(recorded, [first, third], legs)
    assert between is None
    (shorter,) = turns_between(recorded, [first, second], [first, second, third])
    assert shorter is not None
