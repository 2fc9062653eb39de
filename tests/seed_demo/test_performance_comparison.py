"""The comparison of climbs and glides says no when it is no, and the truth is what is compared."""

from __future__ import annotations

from typing import Any

import pytest

from seed_demo import handbook
from seed_demo.performance_comparison import (
    check_best_speeds,
    check_handbook_speeds,
    check_rates,
    performance_table,
)
from seed_demo.performance_files import curve_truth, performance_document, performance_page
from seed_demo.performance_truth import FIXED_PLANT, IDLE, TURBO_PLANT, best_speeds_kt

KNOWN: dict[str, Any] = {
    "pairing": "engine / propeller",
    "power_state": "idle",
    "best_speeds_cas_kt": {"best glide": 76.0, "least sink": 61.0},
    "rate_ftmin": {"65": -770.0, "80": -900.0},
    "handbook_less_truth_kt": {"best glide": -5.0, "least sink": 0.5},
}
FOUND: dict[str, Any] = {
    "speeds": [
        {"speed": "best glide", "cas_kt": 76.5, "low_kt": 75.5, "high_kt": 77.5},
        {"speed": "least sink", "cas_kt": None, "low_kt": None, "high_kt": None},
    ],
    "rows": [
        {
            "cas_kt": 65.0,
            "rate_ftmin": -800.0,
            "mean_low_ftmin": -815.0,
            "mean_high_ftmin": -785.0,
        },
    ],
    "handbook": [
        {"speed": "best glide", "difference_kt": -5.5, "low_kt": -6.5, "high_kt": -4.5},
    ],
}


def test_a_best_speed_in_its_interval_counts_and_one_that_was_not_found_does_not() -> None:
    checks = check_best_speeds(KNOWN, FOUND)
    assert [check.inside for check in checks] == [True, False]
    text = performance_table(checks)
    assert "1 of 2 truths" in text
    assert text.count(" NO") == 1
    assert "none" in text


def test_a_rate_outside_its_band_or_left_out_is_told() -> None:
    checks = check_rates(KNOWN, FOUND)
    assert [check.found for check in checks] == [-800.0, None]
    assert not any(check.inside for check in checks)


def test_the_difference_of_the_handbook_is_held_against_what_was_planted() -> None:
    checks = check_handbook_speeds(KNOWN, FOUND)
    assert [(check.true, check.found) for check in checks] == [(-5.0, -5.5), (0.5, None)]
    assert [check.inside for check in checks] == [True, False]


def test_the_handbook_is_off_where_it_was_planted_and_nowhere_else() -> None:
    planted = curve_truth(FIXED_PLANT, IDLE, 2200.0)["handbook_less_truth_kt"]
    # By its table 64 kt indicated are 70.9 kt calibrated, and 52 kt are 61.6 kt.
    assert handbook.speeds_cas_kt()["best glide"] == pytest.approx(70.89, abs=0.01)
    true = best_speeds_kt(FIXED_PLANT, IDLE, 2200.0)
    assert planted["best glide"] == pytest.approx(70.89 - true["best glide"], abs=0.02)
    assert planted["best glide"] < -4.0
    assert abs(planted["least sink"]) < 1.0
    climb = curve_truth(TURBO_PLANT, "full power", 2200.0)["handbook_less_truth_kt"]
    assert climb["best rate of climb"] < -4.0
    assert climb["best angle of climb"] > 4.0


def test_the_page_of_the_truth_has_a_line_for_every_best_speed() -> None:
    document = performance_document()
    assert len(document) == 5
    lines = performance_page(document)
    assert len([line for line in lines if line.startswith("| ")]) == 2 + 10
    assert sum("for 5 minutes" in line for line in lines) == 2
