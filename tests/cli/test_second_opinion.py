"""A curve beside that of another program, asked for by a sceptic."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from scipy.stats import norm

from fleetcal.fleet.basis import curve_basis
from fleetcal.fleet.pooled import fit_fleet
from fleetcal.fleet.second_opinion import second_opinion, second_standing
from tests.cli.command_line import Program, assert_explained
from tests.cli.invented_fleet import TAIL
from tests.fleet.simulations.invented_fleet import KAPPA_PER_KT, Plan, draw
from tests.store_places import copy_store

pytestmark = pytest.mark.any_store("reduces flights, which are stored as by other tests")

HEAD = "airframe,flown_on,weight_kg,vic_kt,pressure_altitude_ft,kappa,u_kappa\n"


@pytest.fixture
def few(few_file: str, folder: Path) -> Program:
    """Six airframes of which C-03 is odd."""
    return Program(copy_store(few_file, folder / "store.sqlite3"))


def entered(program: Program, folder: Path, rows: list[tuple[str, float, float, float]]) -> Program:
    """Enter points of airframe, airspeed, kappa and its uncertainty."""
    lines = [f"{tag},2024-05-02,580,{vic},3000,{k},{u}" for tag, vic, k, u in rows]
    (folder / "points.csv").write_text(HEAD + "\n".join(lines))
    program.output("points", "import", folder / "points.csv")
    return program


@pytest.mark.parametrize("seed", [1, 2, 3])
@pytest.mark.parametrize("order", [0, 1, 2])
def test_where_points_weigh_alike_both_programs_find_the_same(order: int, seed: int) -> None:
    # the scatter must be found by both, so that their weights are equal: a factor above 1
    drawn = draw(Plan(aircraft=10, groups=2, sortie_kt=0.0), np.random.default_rng(seed))
    points = type(drawn)(**{**vars(drawn), "u_own": np.full(len(drawn.x), 0.005)})
    fit, other = fit_fleet(points, order), second_opinion(points, order)
    assert fit.phi > 1.0
    lift = np.array([0.1, 0.25, 0.5])
    for group in range(2):
        centre, low, high = other.mean_band(group, lift)
        np.testing.assert_allclose(centre, fit.mean_band(group, lift).centre, atol=1e-4)
        assert np.all((low < centre) & (centre < high))


@pytest.mark.long
def test_both_curves_rest_on_the_points_of_the_printed_one(few: Program) -> None:
    printed = few.json("curve", TAIL)
    both = few.json("curve", TAIL, "--second-opinion")
    for name in ("ias_kt", "correction_kt", "mean_low_kt", "airframes", "note"):
        assert [row[name] for row in both["rows"]] == [row[name] for row in printed["rows"]]
    assert both["without"] == printed["without"]
    assert both["points"] == printed["points"]
    known = [row for row in both["rows"] if row["second_kt"] is not None]
    for row in known:
        assert row["difference_kt"] == pytest.approx(row["second_kt"] - row["correction_kt"])
        half = 0.5 * (row["mean_high_kt"] - row["mean_low_kt"])
        assert row["share_of_band"] == pytest.approx(abs(row["difference_kt"]) / half)
    assert both["agree"] == (max(row["share_of_band"] for row in known) <= 0.5)


@pytest.mark.long
def test_the_reasons_for_a_difference_are_told(few: Program) -> None:
    text = few.output("curve", TAIL, "--second-opinion")
    assert "Second opinion: they agree" in text
    assert "it weighs every point alike" in text
    assert "it takes the errors of all points as independent" in text
    assert "Advisory only" in text


def test_where_a_few_sure_points_decide_the_curves_differ_and_that_is_said(
    program: Program, folder: Path
) -> None:
    rows = []
    for i in range(1, 7):
        level = 0.002 * (i % 3)
        for vic in (65.0, 85.0, 105.0):
            rows += [(f"C-0{i}", vic, level, 0.003), (f"C-0{i}", vic, level + 0.1, 0.06)]
    entered(program, folder, rows)
    both = program.json("curve", TAIL, "--second-opinion")
    assert both["agree"] is False
    assert "they differ by more than the 50 % to be expected" in both["verdict"]
    assert "points budget" in both["verdict"]


def test_too_few_airframes_or_points_are_refused_in_words(program: Program, folder: Path) -> None:
    entered(program, folder, [("C-01", 80.0, 0.01, 0.01), ("C-02", 80.0, 0.02, 0.01)])
    assert_explained(program.run("curve", TAIL, "--second-opinion"), 5, "3")
    entered(program, folder, [("C-03", 81.0, 0.015, 0.01)])
    result = program.run("curve", TAIL, "--second-opinion", "--order", "0")
    assert_explained(result, 5, "3 points of 3 airframes are too few for a second opinion")


def test_a_second_standing_is_the_mean_of_its_points_against_the_others_fit() -> None:
    points = draw(Plan(aircraft=8, offsets_kt=(6.0,)), np.random.default_rng(4))
    departure, chance = second_standing(points, 1, 0)
    others = second_opinion(points.without_aircraft({0}), 1)
    mine = points.aircraft == 0
    basis = curve_basis(points.x[mine], 1)
    away = points.y[mine] - basis @ others.beta[0]
    variance = basis @ (others.spread + others.covariance[0]) @ basis.T
    variance += others.scatter**2 * np.eye(len(away))
    # a mean by its own weights: no other linear mean varies less
    inverse = np.linalg.inv(variance)
    weight = inverse.sum(axis=0) / inverse.sum()
    assert departure == pytest.approx(weight @ away)
    size = np.sqrt(weight @ variance @ weight)
    assert chance == pytest.approx(2.0 * norm.sf(abs(departure) / size))
    assert departure == pytest.approx(6.0 * KAPPA_PER_KT, abs=3.0 * KAPPA_PER_KT)


@pytest.mark.long
def test_a_standing_is_held_against_another_program_on_request(few: Program) -> None:
    plain = few.json("standing", "C-03")
    asked = few.json("standing", "C-03", "--second-opinion")
    assert plain["second_opinions"] == []
    assert asked["airframes"] == plain["airframes"]
    (sentence,) = asked["second_opinions"]
    assert sentence.startswith("C-03 in ")
    assert (
        "the mixed model of statsmodels, fitted to all others, finds a mean departure" in sentence
    )
    assert "It supposes nothing of the spread between airframes" in sentence
    assert "Second opinion: C-03 in " in few.output("standing", "C-03", "--second-opinion")


@pytest.mark.long
def test_the_supposed_spread_may_be_given_and_is_printed(few: Program) -> None:
    usual = few.json("standing", "C-03")
    wide = few.json("standing", "C-03", "--usual-spread-kt", "6")
    assert "1.0 kt at 100 kt (standard deviation, the default)" in usual["model"]
    assert "6.0 kt at 100 kt (standard deviation, as given)" in wide["model"]
    before, after = (found["airframes"][0]["p_value"] for found in (usual, wide))
    assert after > 2.0 * before
    refused = few.run("outliers", "--quantity", "climb", "--usual-spread-kt", "2")
    assert refused.exit_code == 2
    assert "--usual-spread-kt" in refused.stderr
