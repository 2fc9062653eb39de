"""Cruise judged, compared and contrasted by the code that serves every quantity."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import pytest

from fleetcal.errors import DataError
from fleetcal.services.curves.check_change import Period, check_change
from fleetcal.services.curves.contrast_groups import contrast_groups
from fleetcal.services.curves.judge_airframes import judge_airframe, judge_airframes
from fleetcal.services.curves.member_choice import MemberChoice
from fleetcal.services.curves.quantity import PoolRequest
from fleetcal.services.curves.type_points import curve_of
from fleetcal.services.performance.cruise import CRUISE, CruiseScale
from fleetcal.services.performance.cruise_flown import CruiseRequest
from fleetcal.services.performance.cruise_table import cruise_table
from fleetcal.services.performance.quantities import all_quantities
from fleetcal.store import Store, open_store
from tests.cli.command_line import Program
from tests.cli.invented_cruise import FLEET, density_ratio, flown, true_tas
from tests.cli.invented_fleet import fleet_toml
from tests.store_places import begun_at

REQUEST = PoolRequest(quantity=CRUISE)
FIXED, THREE = "75 kW four / two-blade fixed", "75 kW four / three-blade"


def power_for(tas_kt: float, altitude_ft: float) -> float:
    """The power in % at which an aircraft of the polar flies an airspeed, by halving."""
    low, high = 20.0, 130.0
    for _ in range(50):
        middle = (low + high) / 2.0
        low, high = (middle, high) if true_tas(middle, altitude_ft) < tas_kt else (low, middle)
    return low


def faster(tas_kt: float, altitude_ft: float, drag: float) -> float:
    """How much faster more drag lets fly at the power that less drag needs."""
    return true_tas(power_for(tas_kt, altitude_ft), altitude_ft, drag=drag) - tas_kt


@contextmanager
def cruising(
    folder: Path, fleet: str, sorties: list[tuple[str, dict[str, float]]]
) -> Iterator[Store]:
    """A store with a sortie of each airframe on each day, with the drag of some tags."""
    (folder / "fleet.toml").write_text(fleet, encoding="utf-8")
    address = begun_at(folder / "cruise.sqlite3")
    program = Program(address)
    program.output("fleet", "load", folder / "fleet.toml")
    for place, (day, odd) in enumerate(sorties):
        points, powers = flown(seed=3 + place, odd=odd, error=0.3)
        head, *lines = powers.splitlines()
        noted = [line.split(",", 1) for line in lines]
        shifted = [f"{int(number) + place * len(lines)},{rest}" for number, rest in noted]
        (folder / "p.csv").write_text(points.replace("2024-05-02", day), encoding="utf-8")
        (folder / "w.csv").write_text("\n".join([head, *shifted]), encoding="utf-8")
        program.output("points", "import", folder / "p.csv")
        program.output("power", "--file", folder / "w.csv")
    with open_store(address) as store:
        yield store


@pytest.mark.long
def test_an_airframe_with_more_drag_is_outside_by_what_was_planted(tmp_path: Path) -> None:
    with cruising(tmp_path, fleet_toml(FLEET), [("2024-05-02", {"C-04": 1.15})]) as store:
        everybody = judge_airframes(store, REQUEST)
        assert [a.airframe for a in everybody.airframes if a.outside] == ["C-04"]
        assert everybody.altitude_ft is not None
        (verdict,) = judge_airframe(store, "C-04", REQUEST, tmp_path / "c-04.svg").airframes
        for row in verdict.rows:
            truth = faster(row.speed_kt, everybody.altitude_ft, 1.15)
            assert row.low - 0.5 < truth < row.high + 0.5
        assert "slower at the same power" in verdict.reason
        drawn = (tmp_path / "c-04.svg").read_text(encoding="utf-8")
        assert "at the same power" in drawn


@pytest.mark.long
def test_an_airframe_outside_leaves_the_curve_unless_it_is_kept(tmp_path: Path) -> None:
    asked = CruiseRequest(power_pct=(65.0,), altitude_ft=(5000.0,))
    with cruising(tmp_path, fleet_toml(FLEET), [("2024-05-02", {"C-04": 1.35})]) as store:
        found = cruise_table(store, asked)
        kept = cruise_table(store, replace(asked, choice=MemberChoice(kept=("C-04",))))
    (line,), (with_it,) = found.lines, kept.lines
    assert line.tas_kt == pytest.approx(true_tas(65.0, 5000.0), abs=1.0)
    assert with_it.tas_kt is not None
    assert with_it.tas_kt < (line.tas_kt or 0.0) - 2.0
    assert any(note.startswith("without C-04, which stands outside") for note in found.notes)
    assert any("C-04 stands outside this group and is in the pool" in n for n in kept.notes)
    for table in (found, kept):
        assert {a.airframe: a.verdict for a in table.airframes}["C-04"] == "outside"


def test_a_propeller_that_costs_speed_shows_between_pairings(tmp_path: Path) -> None:
    head, *planes = fleet_toml(FLEET).split("[[airframe]]")
    head += '[[propeller]]\nname = "three-blade"\n'
    planes[3:] = [plane.replace("two-blade fixed", "three-blade") for plane in planes[3:]]
    odd = dict.fromkeys(("C-04", "C-05", "C-06"), 1.15)
    described = "[[airframe]]".join([head, *planes])
    with cruising(tmp_path, described, [("2024-05-02", odd)]) as store:
        found = contrast_groups(store, FIXED, THREE, REQUEST)
        assert found.differ
        assert "cruise" in found.verdict
        for row in found.rows:
            assert row.low < faster(row.speed_kt, found.altitude_ft or 0.0, 1.15) < row.high
            assert row.first == pytest.approx(0.0, abs=1e-6)
        with pytest.raises(DataError, match="cannot be compared with itself"):
            contrast_groups(store, FIXED, FIXED, REQUEST)


@pytest.mark.long
def test_what_an_airframe_lost_between_two_periods_shows(tmp_path: Path) -> None:
    days: list[tuple[str, dict[str, float]]] = [
        *((f"2024-05-{day:02d}", {}) for day in (2, 9)),
        *((f"2024-06-{day:02d}", {"C-04": 1.15}) for day in (2, 9)),
    ]
    periods = Period(None, date(2024, 5, 31)), Period(date(2024, 6, 1), None)
    with cruising(tmp_path, fleet_toml(FLEET), days) as store:
        found = check_change(store, ["C-04"], REQUEST, periods)
        assert found.differ
        assert all(row.low < faster(row.speed_kt, 5500.0, 1.15) < row.high for row in found.rows)
        same = check_change(store, ["C-02"], REQUEST, periods)
        assert not same.differ


def test_power_at_the_speed_shown_is_the_power_of_the_curve() -> None:
    scale = CruiseScale(45.0, 4000.0)
    speed, about = np.array([95.0, 110.0, 130.0]), curve_of(np.array([0.05, 0.09]))
    x = scale.x_at(speed)
    y = about(x) * np.array([1.1, 1.0, 0.9])
    there = speed + scale.shown(speed, y, about)
    needed = about(scale.x_at(there)) + y - about(x)
    np.testing.assert_allclose(needed * there**3, about(x) * speed**3, rtol=1e-9)
    assert scale.shown(speed, y, about)[1] == pytest.approx(0.0, abs=1e-9)
    np.testing.assert_allclose(scale.speed_at(x), speed, rtol=1e-12)
    assert density_ratio(4000.0) < 1.0


def test_where_power_falls_with_airspeed_no_speed_is_shown() -> None:
    scale, about = CruiseScale(45.0, 0.0), curve_of(np.array([0.05, 0.09]))
    slow = np.array([35.0])
    assert np.isnan(scale.shown(slow, 1.1 * about(scale.x_at(slow)), about)).all()


@pytest.mark.parametrize("quantity", all_quantities().values(), ids=all_quantities())
def test_every_quantity_has_the_words_that_printed_names_need(quantity: object) -> None:
    words = getattr(quantity, "words", {})
    assert set(words) == {"unit", "speed", "group", "many", "number", "numbers", "only"}
    assert all(words.values())
