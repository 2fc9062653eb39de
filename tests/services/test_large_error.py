"""A wrong unit scales all speeds alike; the errors of a port that exists fall off."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import replace

import pytest

from fleetcal.records import Point
from fleetcal.services.large_error import doubts, is_suspect, large_errors_words, scaled_alike
from tests.certified_port import PRINTED, kappa_of

pytestmark = pytest.mark.any_store("opens no store")

MPH, KMH = 1.852 / 1.609344, 1.852
SPEEDS = (60.0, 80.0, 110.0)


def point(number: int, ias_kt: float, cas_kt: float) -> Point:
    return Point(
        number=number,
        technique="gps legs",
        weight_kg=600.0,
        vic_kt=ias_kt,
        pressure_altitude_ft=3000.0,
        kappa=kappa_of(ias_kt, cas_kt),
        u_kappa=0.02,
        dvpc_kt=cas_kt - ias_kt,
        u_dvpc_kt=0.8,
        dhpc_ft=0.0,
        u_dhpc_ft=10.0,
    )


def scaled(factor: float, speeds: Sequence[float] = SPEEDS) -> list[Point]:
    return [point(number, speed, factor * speed) for number, speed in enumerate(speeds, 1)]


@pytest.mark.parametrize("flaps", PRINTED)
def test_no_choice_of_printed_points_looks_like_a_wrong_unit(flaps: str) -> None:
    points = [point(number, *pair) for number, pair in enumerate(PRINTED[flaps], 1)]
    for size in (1, 2, 3):
        for chosen in itertools.combinations(points, size):
            assert scaled_alike(chosen) == ""
    assert scaled_alike(points) == ""
    assert scaled_alike([]) == ""


@pytest.mark.parametrize("factor", [MPH, 1.0 / MPH, 0.88, 1.3, 0.7])
def test_one_factor_for_all_speeds_is_no_port(factor: float) -> None:
    words = scaled_alike(scaled(factor))
    assert words.startswith("all speeds flown would be off alike, by ")
    assert ("knots and miles an hour" in words) == (factor in (MPH, 1.0 / MPH, 0.88))
    assert f"{100.0 * (factor - 1.0):+.0f} %" in words


def test_an_error_below_a_tenth_or_at_one_speed_or_of_both_signs_is_left_to_a_doubt() -> None:
    assert scaled_alike(scaled(1.09)) == ""
    assert scaled_alike(scaled(MPH, (80.0, 81.0, 90.0))) == ""
    assert scaled_alike([*scaled(MPH, SPEEDS[:2]), point(3, 110.0, 95.0)]) == ""


def test_a_run_that_is_not_accepted_already_hides_no_wrong_unit() -> None:
    bad = replace(point(4, 95.0, 96.0), accepted=False, reason="spare legs disagree")
    assert scaled_alike([*scaled(MPH), bad]) != ""
    assert scaled_alike([*scaled(MPH), replace(bad, accepted=True, reason="")]) == ""


def test_doubts_name_what_counts_and_what_does_not() -> None:
    off = replace(point(2, 100.0, 87.0), accepted=False, reason="off alike")
    points = [point(1, 40.0, 51.0), off, point(3, 90.0, 90.0), point(4, 50.0, 57.0)]
    assert [is_suspect(one) for one in points] == [True, True, False, True]
    counted, others = doubts(points, "run")
    assert counted.startswith("runs 1, 4: the airspeed is off by +14 to +28 %, more than most")
    assert "so they count, but check the units" in counted
    assert others.startswith("run 2: the airspeed would be off by -13 %: check the units")
    (one,) = doubts(points, "point", borne_out={1, 2})
    assert one.startswith("point 4: ")
    assert "so it counts" in one
    assert doubts(points[2:3], "run") == ()


@pytest.mark.parametrize(
    ("lines", "start"),
    [
        ([7], "line 7: kappa beyond 0.15 is more than most static ports make; it counts"),
        ([2, 3], "lines 2, 3: "),
        (list(range(2, 20)), "lines 2, 3, 4, 5, 6 and 13 more: "),
    ],
)
def test_lines_of_a_file_are_named_up_to_five(lines: list[int], start: str) -> None:
    (words,) = large_errors_words(lines)
    assert words.startswith(start)
    assert large_errors_words([]) == ()
