"""The comparison says no when it is no."""

from __future__ import annotations

from typing import Any

from seed_demo.comparison import check_curve, check_flags, curve_table, flag_text

TRUTH: dict[str, Any] = {
    "groups": [{"group": "port", "correction_kt": {"70": 1.0, "100": -2.0, "130": -4.0}}],
    "airframes": [
        {"airframe": "C-01", "planted": ""},
        {"airframe": "C-02", "planted": "leak"},
        {"airframe": "C-03", "planted": "swap"},
    ],
}
CURVE: dict[str, Any] = {
    "rows": [
        {"ias_kt": 70.0, "correction_kt": 1.2, "mean_low_kt": 0.8, "mean_high_kt": 1.6},
        {"ias_kt": 100.0, "correction_kt": -1.0, "mean_low_kt": -1.5, "mean_high_kt": -0.5},
        {"ias_kt": 130.0, "correction_kt": None, "mean_low_kt": None, "mean_high_kt": None},
    ]
}


def test_a_truth_in_its_band_counts_and_one_outside_or_without_a_band_does_not() -> None:
    checks = check_curve(TRUTH, "port", CURVE)
    assert [check.inside for check in checks] == [True, False, False]
    text = curve_table(checks)
    assert "1 of 3 truths are inside" in text
    assert text.count(" NO") == 2
    assert "none" in text


def test_a_speed_that_the_curve_leaves_out_counts_as_not_found() -> None:
    checks = check_curve(TRUTH, "port", {"rows": CURVE["rows"][:1]})
    assert [check.found_kt for check in checks] == [1.2, None, None]


def test_missed_and_wrong_flags_are_named() -> None:
    outliers = {
        "airframes": [
            {"airframe": "C-01", "outside": True},
            {"airframe": "C-02", "outside": True},
            {"airframe": "C-03", "outside": False},
        ]
    }
    check = check_flags(TRUTH, outliers)
    assert check.missed == ("C-03",)
    assert check.wrongly_flagged == ("C-01",)
    assert "missed:          C-03" in flag_text(check)
