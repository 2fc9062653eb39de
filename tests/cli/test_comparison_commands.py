"""change and contrast on a made-up fleet with known differences."""

from __future__ import annotations

import csv
import io
import json

import numpy as np
import pytest

from tests.cli.command_line import Program, assert_explained
from tests.cli.invented_fleet import MID, PAIRING, TAIL, WING
from tests.store_places import change

FIT = f'engine = "{PAIRING[0]}"\npropeller = "{PAIRING[1]}"\n'
FLEET = f"""
[[airframe]]
tag = "C-01"
type = "Corrie 2"
note = "invented"
  [[airframe.fit]]
  from = 2015-04-01
  static_source = "{TAIL}"
  {FIT}
  [[airframe.fit]]
  from = 2024-06-01
  static_source = "{WING}"
  {FIT}
"""


def _points(moved: float, day: str = "2024-08-01") -> str:
    """Two later sorties of C-01, its old curve moved by `moved` in kappa."""
    rng = np.random.default_rng(3)
    lines = ["airframe,flown_on,sortie,weight_kg,vic_kt,pressure_altitude_ft,kappa,u_kappa"]
    for sortie in ("c", "d"):
        for speed in (65.0, 80.0, 95.0, 110.0, 125.0):
            kappa = moved + rng.normal(0.0, 0.007)
            lines.append(f"C-01,{day},{sortie},560,{speed},3500,{kappa:.6f},0.007")
    return "\n".join(lines) + "\n"


@pytest.fixture
def changed(flown: Program, folder) -> Program:
    """C-01 with a second fit and two sorties in it."""
    (folder / "change.toml").write_text(FLEET, encoding="utf-8")
    flown.output("fleet", "load", folder / "change.toml")
    (folder / "later.csv").write_text(_points(0.30), encoding="utf-8")
    flown.output("points", "import", folder / "later.csv")
    return flown


def test_a_large_change_is_found_with_its_direction(changed: Program) -> None:
    found = json.loads(changed.output("change", "C-01", "--format", "json"))
    assert found["kind"] == "change"
    assert found["differ"] is True
    assert found["p_value"] < 0.001
    assert [side["sorties"] for side in (found["first"], found["second"])] == [2, 2]
    for row in found["rows"]:
        assert row["low_kt"] < row["difference_kt"] < row["high_kt"]
        assert row["low_kt"] > 0.0  # kappa went up, so the correction did
        assert row["second_kt"] - row["first_kt"] == pytest.approx(row["difference_kt"])
        assert row["smallest_shown_kt"] > 0.0


@pytest.mark.long
def test_what_the_same_instruments_err_before_and_after_falls_out_of_a_change(
    changed: Program,
) -> None:
    def half_widths() -> list[float]:
        rows = changed.json("change", "C-01")["rows"]
        return [(row["high_kt"] - row["low_kt"]) / 2.0 for row in rows]

    def whose(owner: str, u_kappa: float) -> None:
        change(
            changed.store,
            "UPDATE uncertainty_term SET owner = ?, u_kappa = ?"
            " WHERE name = 'shared by the sortie'",
            (owner, u_kappa),
        )
        # what is the point's alone stays what it was
        change(
            changed.store,
            "UPDATE calibration_point SET u_kappa = sqrt(0.000036 + ?) WHERE id IN"
            " (SELECT calibration_point_id FROM uncertainty_term WHERE owner <> 'point')",
            (u_kappa**2,),
        )

    whose("sortie", 0.02)
    anew = half_widths()
    whose("airframe", 0.02)
    same = half_widths()
    assert all(one < other for one, other in zip(same, anew, strict=True))
    whose("airframe", 0.04)
    assert half_widths() == pytest.approx(same, rel=1e-6)  # however large it is
    said = "instruments taken to be the same before and after"
    assert said in changed.json("change", "C-01")["model"]


def test_two_periods_of_one_fit_can_be_compared(flown: Program, folder) -> None:
    # the first sorties once more at later dates: no change at all
    text = flown.output("points", "list", "--out", "-", "--airframe", "C-05")
    rows = list(csv.DictReader(io.StringIO(text)))
    later = "airframe,flown_on,sortie,weight_kg,vic_kt,pressure_altitude_ft,kappa,u_kappa\n"
    for row in rows:
        later += (
            f"C-05,2024-09-01,x{row['sortie']},{row['weight_kg']},{row['vic_kt']},"
            f"{row['pressure_altitude_ft']},{row['kappa']},{row['u_kappa']}\n"
        )
    (folder / "again.csv").write_text(later, encoding="utf-8")
    flown.output("points", "import", folder / "again.csv")
    words = ("change", "C-05", "--before", "..2024-06-30", "--after", "2024-07-01..")
    found = json.loads(flown.output(*words, "--format", "json"))
    assert found["differ"] is False
    assert found["p_value"] > 0.5
    assert all(abs(row["difference_kt"]) < 0.2 for row in found["rows"])
    assert flown.output(*words).startswith("No change shows: C-05 reads ")
    assert "does not show" in flown.output(*words, "--details")


def test_a_change_needs_two_sides(flown: Program) -> None:
    assert_explained(flown.run("change", "C-01"), 5, "C-01", "one fit")
    words = ("change", "C-01", "--before", "..2010-01-01", "--after", "2020-01-01..")
    assert_explained(flown.run(*words), 5, "C-01", "no accepted points")
    assert flown.run("change", "C-01", "--before", "..2010-01-01").exit_code == 2
    assert flown.run("change", "C-01", "--before", "2010", "--after", "2011").exit_code == 2
    assert_explained(flown.run("change", "C-99"), 35, "'C-99'")


@pytest.mark.long
def test_two_ports_are_compared_over_the_speeds_of_both(flown: Program) -> None:
    found = json.loads(flown.output("contrast", TAIL, WING, "--format", "json"))
    back = json.loads(flown.output("contrast", WING, TAIL, "--format", "json"))
    assert found["p_value"] == pytest.approx(back["p_value"], rel=1e-6)
    for one, other in zip(found["rows"], back["rows"], strict=True):
        assert one["difference_kt"] == pytest.approx(-other["difference_kt"], rel=1e-6)
    assert "Advisory only" in flown.output("contrast", TAIL, WING)


def test_a_group_is_not_compared_with_itself_or_with_a_pairing(flown: Program) -> None:
    pairing = f"{TAIL} / {PAIRING[0]} / {PAIRING[1]}"
    assert_explained(flown.run("contrast", TAIL, TAIL), 3, TAIL)
    assert_explained(flown.run("contrast", TAIL, pairing), 3, TAIL)
    assert_explained(flown.run("contrast", TAIL, "nowhere"), 35, "'nowhere'")
    assert MID in flown.output("contrast", TAIL, MID)


SEVERAL = ("C-01", "C-02", "C-03", "C-04")


@pytest.fixture
def changed_on_four(flown: Program, folder) -> Program:
    """Four airframes whose port was moved, two sorties each before and after."""
    fits = "\n".join(FLEET.replace("C-01", tag) for tag in SEVERAL)
    (folder / "changes.toml").write_text(fits, encoding="utf-8")
    flown.output("fleet", "load", folder / "changes.toml")
    head, *lines = _points(0.12).splitlines()
    later = [line.replace("C-01", tag) for tag in SEVERAL for line in lines]
    (folder / "later.csv").write_text("\n".join([head, *later]) + "\n", encoding="utf-8")
    flown.output("points", "import", folder / "later.csv")
    return flown


@pytest.mark.long
def test_the_same_change_of_several_airframes_is_pooled(changed_on_four: Program) -> None:
    found = json.loads(changed_on_four.output("change", *SEVERAL, "--format", "json"))
    assert found["differ"] is True
    assert found["first"]["airframes"] == found["second"]["airframes"] == 4
    assert len(found["each"]) == 4
    alone = json.loads(changed_on_four.output("change", "C-01", "--format", "json"))
    own = {row["ias_kt"]: row["difference_kt"] for row in alone["rows"]}
    for row in found["rows"]:
        assert row["low_kt"] < row["difference_kt"] < row["high_kt"]
        assert abs(row["difference_kt"] - own[row["ias_kt"]]) < 3.0
    told = changed_on_four.output("change", *SEVERAL)
    assert "By itself: C-03" in told
    assert "Advisory only" in told


@pytest.mark.long
def test_without_a_tag_all_that_flew_both_groups_are_pooled(changed_on_four: Program) -> None:
    words = ("change", "--from", TAIL, "--to", WING, "--format", "json")
    found = json.loads(changed_on_four.output(*words))
    named = json.loads(changed_on_four.output("change", *SEVERAL, "--format", "json"))
    assert found["p_value"] == pytest.approx(named["p_value"], rel=1e-9)
    assert [row["difference_kt"] for row in found["rows"]] == pytest.approx(
        [row["difference_kt"] for row in named["rows"]], rel=1e-9
    )


def test_changes_that_cannot_be_pooled_are_refused(changed_on_four: Program) -> None:
    run = changed_on_four.run
    assert_explained(run("change", "C-01", "C-02"), 5, "two airframes")
    assert_explained(run("change", *SEVERAL, "C-05"), 5, "C-05", "one fit")
    assert_explained(run("change", "--from", WING, "--to", MID), 5, "no airframe")
    assert_explained(run("change", "--from", WING, "--to", WING), 3, WING)
    assert run("change").exit_code == 2
    assert run("change", "C-01", "--from", WING).exit_code == 2


@pytest.mark.long
def test_pairings_of_a_port_are_told_twice(flown: Program) -> None:
    found = json.loads(flown.output("contrast", WING, "--format", "json"))
    assert found["chance"] is None
    assert {row["pairing"] for row in found["rows"]} == {" / ".join(PAIRING)}
    for row in found["rows"]:
        assert row["own_low_kt"] < row["own_kt"] < row["own_high_kt"]
        assert row["shrunk_kt"] == pytest.approx(row["own_kt"], abs=0.2)
    told = flown.output("contrast", WING)
    assert "Only one pairing" in told
    assert "Advisory only" in told
    assert_explained(flown.run("contrast", "nowhere"), 35, "'nowhere'")
    pairing = f"{WING} / {PAIRING[0]} / {PAIRING[1]}"
    assert_explained(flown.run("contrast", pairing), 3, WING)
