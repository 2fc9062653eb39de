"""What the flights of a folder, and the climbs of one flight, say in sentences."""

from __future__ import annotations

import math
from datetime import date

from fleetcal.records import Climb
from fleetcal.services.flights.season_says import SeasonSpeed, season_sentences
from fleetcal.services.flights.speed_answers import KT_AND_FT, PrintedUnits
from fleetcal.services.performance.climb_sentences import climb_sentences
from fleetcal.services.performance.reduce_climbs import ReducedClimbs


def block(least_kt: float, most_kt: float, airframe: str = "C-07", points: int = 4) -> SeasonSpeed:
    return SeasonSpeed(
        airframe=airframe,
        slowest_kt=90.2,
        fastest_kt=97.6,
        points=points,
        flights=2,
        least_kt=least_kt,
        most_kt=most_kt,
    )


def test_what_is_to_be_taken_off_is_read_too_fast() -> None:
    (fast,) = season_sentences([block(-1.6, -0.4)], KT_AND_FT)
    assert fast == "From 90 to 98 kt 4 measurements say: 0.4 to 1.6 kt too fast."
    (slow,) = season_sentences([block(0.4, 1.6)], KT_AND_FT)
    assert slow.endswith("0.4 to 1.6 kt too slow.")


def test_corrections_of_both_signs_are_named_with_both() -> None:
    (both,) = season_sentences([block(-0.3, 0.8)], KT_AND_FT)
    assert both.endswith("anything from 0.8 kt too slow to 0.3 kt too fast.")


def test_one_measurement_is_no_range_and_other_units_are_rounded_once() -> None:
    (one,) = season_sentences([block(1.0, 1.0, points=1)], PrintedUnits("mph"))
    # 90.2 and 97.6 kt are 103.8 and 112.3 mph; 1 kt is 1.15 mph
    assert one == "From 104 to 112 mph 1 measurement says: 1.2 mph too slow."


def test_of_several_airframes_there_are_no_sentences() -> None:
    assert season_sentences([block(0.0, 1.0), block(0.0, 1.0, "C-08")], KT_AND_FT) == ()


def climb(vic_kt: float, rate_ftmin: float, *, accepted: bool = True) -> Climb:
    return Climb(
        number=1,
        kind="glide",
        power_state="idle",
        flap_setting="up",
        weight_kg=600.0,
        vic_kt=vic_kt,
        pressure_altitude_ft=2000.0,
        oat_degc=11.0,
        indicated_rate_ftmin=rate_ftmin,
        rate_ftmin=rate_ftmin,
        u_own_ftmin=12.0,
        u_shared_ftmin=-9.0,
        thrust_rate_ftmin=0.0,
        ways=2,
        accepted=accepted,
        reason="" if accepted else "no partner",
    )


def found(*climbs: Climb) -> ReducedClimbs:
    return ReducedClimbs(
        airframe="C-07",
        source="saw.csv",
        flown_on=date(2024, 5, 2),
        kind="glide",
        power_state="idle",
        found=len(climbs),
        climbs=climbs,
        warnings=(),
        stored=False,
    )


def test_each_glide_is_a_sentence_with_its_band_and_the_least_sink_is_named() -> None:
    said = climb_sentences(found(climb(70.0, -820.0), climb(60.0, -700.0)))
    # 1.96 times the root of 12 and 9 in squares, which is 15
    assert round(1.96 * math.hypot(12.0, 9.0)) == 29
    assert said == (
        "At 60.0 kt the aircraft sinks 700 ft/min (±29 at 95 %).",
        "At 70.0 kt it sinks 820 ft/min (±29).",
        "Of the speeds flown it sank least at 60.0 kt; another speed between may be better.",
    )


def test_what_is_not_accepted_is_no_answer() -> None:
    (none,) = climb_sentences(found(climb(70.0, -820.0, accepted=False)))
    assert none == "1 steady glide found, and none can be relied on; why is below the table."
