"""The story: the fleet as planned, the same at every call, and its truth where it should be."""

from __future__ import annotations

import csv
import io
import json
import tomllib
from collections import Counter
from datetime import date
from pathlib import Path

import numpy as np
import pytest

from seed_demo.air import KT
from seed_demo.description import fleet_toml
from seed_demo.files import write_inputs
from seed_demo.fleet import CHANGE_DATE, CHANGED_TAG, LEAKING_TAG, SWAPPED_TAG, build_fleet
from seed_demo.older_points import older_points_text
from seed_demo.story import build_sorties
from seed_demo.truth import (
    MID_CONSTANT_GROUP,
    PAIRING_DEPARTURES,
    WING_BOOM,
    ErrorCurve,
    group_curve,
)


def test_a_kappa_of_five_per_cent_gives_the_correction_worked_out_elsewhere() -> None:
    # Sea level, total pressure right, port error -0.05 of the true impact pressure at
    # 100 kt calibrated: indicated 102.454976 kt (worked out from the pitot relation alone).
    curve = ErrorCurve(-0.05 / 1.05, 0.0)
    assert curve.correction_kt(102.454976) == pytest.approx(-2.454976, abs=1e-5)


def test_every_group_stays_within_what_was_imagined() -> None:
    for group in PAIRING_DEPARTURES:
        speeds = np.linspace(65.0, 140.0, 16)
        s = (45.0 / speeds) ** 2
        assert np.abs(group_curve(group).kappa(s)).max() < 0.12
        assert max(abs(group_curve(group).correction_kt(float(v))) for v in speeds) < 6.0


def test_the_planted_faults_are_clear_and_no_other_airframe_comes_near() -> None:
    day = date(2023, 6, 1)
    for airframe in build_fleet():
        recorded = group_curve(airframe.recorded_group(day))
        apart = airframe.true_curve(day).correction_kt(100.0) - recorded.correction_kt(100.0)
        if airframe.planted:
            assert 4.0 < abs(apart) < 9.0
        else:
            assert abs(apart) < 2.0


def test_the_swapped_port_is_recorded_as_the_one_and_flown_as_the_other() -> None:
    airframe = next(a for a in build_fleet() if a.tag == SWAPPED_TAG)
    day = date(2023, 6, 1)
    assert airframe.recorded_group(day).static_source == WING_BOOM
    assert airframe.true_curve(day) == group_curve(MID_CONSTANT_GROUP) + airframe.departure


def test_one_airframe_is_flown_before_and_after_its_change_of_equipment() -> None:
    groups = {
        s.day < CHANGE_DATE: s.group for s in build_sorties() if s.airframe.tag == CHANGED_TAG
    }
    assert groups[False] == MID_CONSTANT_GROUP
    assert groups[True] != groups[False]
    assert groups[True].static_source == groups[False].static_source


def test_every_airframe_flies_and_every_group_has_at_least_five() -> None:
    sorties = build_sorties()
    assert {s.airframe.tag for s in sorties} == {a.tag for a in build_fleet()}
    members = Counter(group for group, _ in {(s.group, s.airframe.tag) for s in sorties})
    assert set(members) == set(PAIRING_DEPARTURES)
    assert min(members.values()) >= 5


def test_departures_have_about_the_scatter_they_are_said_to_have() -> None:
    levels = np.array([a.departure.level for a in build_fleet()])
    tilts = np.array([a.departure.tilt for a in build_fleet()])
    # 26 draws: the sample standard deviation is within about 40 % at 99.7 %.
    assert 0.6 < levels.std(ddof=1) / 0.012 < 1.4
    assert 0.6 < tilts.std(ddof=1) / 0.02 < 1.4


def test_the_description_keeps_the_truth_to_itself() -> None:
    text = fleet_toml(build_fleet())
    described = tomllib.loads(text)
    assert len(described["airframe"]) == len(build_fleet())
    changed = next(a for a in described["airframe"] if a["tag"] == CHANGED_TAG)
    assert [fit["from"] for fit in changed["fit"]][1] == CHANGE_DATE
    for word in ("leak", "swap", "connected", "kappa"):
        assert word not in text
    assert LEAKING_TAG in text


@pytest.mark.long
def test_two_writings_are_the_same_bytes_and_carry_the_truth(tmp_path: Path) -> None:
    written = write_inputs(tmp_path / "one")
    write_inputs(tmp_path / "two")
    files = sorted(p.relative_to(tmp_path / "one") for p in (tmp_path / "one").rglob("*.*"))
    assert len(files) >= len(written) + 3
    for name in files:
        assert (tmp_path / "one" / name).read_bytes() == (tmp_path / "two" / name).read_bytes()
    truth = json.loads((tmp_path / "one" / "truth.json").read_text(encoding="utf-8"))
    assert truth["notice"].startswith("Invented")
    assert [s["file"] for s in truth["sorties"]] == [w.path.name for w in written]
    for sortie in truth["sorties"]:
        for box in sortie["boxes"]:
            wind = np.hypot(box["wind_to_east_kt"], box["wind_to_north_kt"])
            assert wind == pytest.approx(sortie["wind_speed_kt"], abs=3.5)
            assert 60.0 < box["ias_kt"] < 145.0


def test_weather_and_weights_stay_in_the_range_of_a_light_aircraft() -> None:
    for sortie in build_sorties():
        assert 8.0 <= sortie.weather.wind_speed_mps / KT <= 25.0
        assert 480.0 <= sortie.loading.start_kg <= 600.0
        assert abs(sortie.airframe.instruments.probe_k) < 2.5


def test_older_points_scatter_about_the_truth_by_the_uncertainty_they_state() -> None:
    fleet = {airframe.tag: airframe for airframe in build_fleet()}
    rows = list(csv.DictReader(io.StringIO(older_points_text(build_fleet()))))
    away = []
    for row in rows:
        curve = fleet[row["airframe"]].true_curve(date.fromisoformat(row["flown_on"]))
        true_kt = curve.correction_kt(float(row["vic_kt"]), float(row["weight_kg"]))
        away.append((float(row["dvpc_kt"]) - true_kt) / float(row["u_dvpc_kt"]))
    assert len(away) == 12
    # Sum of twelve squares: chi-squared, between 3 and 30 at 99.5 %.
    assert 3.0 < sum(value**2 for value in away) < 30.0
