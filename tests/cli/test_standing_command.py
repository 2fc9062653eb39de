"""What the standing of an airframe tells beside its verdict: bad points, weights, a figure."""

from __future__ import annotations

import csv
import io
import xml.etree.ElementTree as ElementTree
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from sqlalchemy import update

from fleetcal.store import open_store
from fleetcal.store.models import UncertaintyTerm
from tests.cli.command_line import Program
from tests.cli.invented_fleet import GROUPS, SMALL_GROUP, fleet_toml, points_csv
from tests.store_places import begun_at, copy_store

pytestmark = pytest.mark.long

EVERY_GROUP = (*GROUPS, SMALL_GROUP)
BAD_LINE = 3  # of the first airframe, C-01


@pytest.fixture(scope="module")
def spoilt(tmp_path_factory: pytest.TempPathFactory) -> Program:
    """A fleet in which one point of C-01 is far off, and C-14 is off as a whole."""
    folder = tmp_path_factory.mktemp("spoilt")
    (folder / "fleet.toml").write_text(fleet_toml(EVERY_GROUP), encoding="utf-8")
    rows = list(csv.reader(io.StringIO(points_csv(EVERY_GROUP, {"C-14": -0.09}))))
    rows[1 + BAD_LINE][6] = f"{float(rows[1 + BAD_LINE][6]) + 0.1:.6f}"
    text = "\n".join(",".join(row) for row in rows) + "\n"
    (folder / "points.csv").write_text(text, encoding="utf-8")
    program = Program(begun_at(folder / "store.sqlite3"))
    program.output("fleet", "load", folder / "fleet.toml")
    program.output("points", "import", folder / "points.csv")
    return program


def test_the_bad_point_is_named_and_no_point_of_the_bad_airframe(spoilt: Program) -> None:
    found = spoilt.json("outliers")
    (only,) = found["disagreements"]
    listed = spoilt.json("points", "list", "--airframe", "C-01")["points"]
    worst = max(listed, key=lambda point: point["kappa"])
    assert only["airframe"] == "C-01"
    assert only["point_ids"] == [worst["point_id"]]
    assert only["away_kt"] == pytest.approx(5.5, abs=1.5)
    assert f"fleetcal points reject {worst['point_id']}" in only["said"]
    assert only["verdict_without"] == "inside"
    assert [a["airframe"] for a in found["airframes"] if a["outside"]] == ["C-14"]
    assert spoilt.json("standing", "C-14")["disagreements"] == []
    assert "disagrees with its own airframe" in spoilt.output("standing", "C-01")


def test_a_standing_says_what_it_rests_on(spoilt: Program) -> None:
    found = spoilt.json("standing", "C-14")
    (detail,) = found["details"]
    shares = [point["share_percent"] for point in detail["heaviest"]]
    assert len(shares) == 3
    assert shares == sorted(shares, reverse=True)
    assert 100.0 / 10.0 < shares[0] < 50.0
    at = found["airframes"][0]["at_ias_kt"]
    assert abs(detail["heaviest"][0]["ias_kt"] - at) < 15.0
    assert detail["settles"] == ""
    counts = (found["fitted_airframes"], found["fitted_sorties"], found["fitted_points"])
    assert counts == (21, 42, 210)
    assert found["spread_degrees_of_freedom"] == 21 - 3
    assert "straight line" in found["model"]
    text = spoilt.output("standing", "C-14", "--details")
    assert "18 degrees of freedom" in text
    assert "the points that count most in its largest departure" in text
    brief = spoilt.output("standing", "C-14")
    assert "--details" in brief.splitlines()[-1]
    assert "degrees of freedom" not in brief
    assert "straight line" not in brief


def test_a_group_of_three_is_told_how_many_are_missing(spoilt: Program) -> None:
    (detail,) = spoilt.json("standing", "C-20")["details"]
    assert detail["settles"] == "1 more airframe in the group"
    assert detail["heaviest"] == []
    answer = spoilt.output("standing", "C-20").splitlines()[0]
    assert answer.startswith("C-20 cannot be judged yet: only 2 other airframes in the group")


@pytest.mark.parametrize("tag", ["C-01", "C-14", "C-20"])
def test_the_figure_names_the_airframe_its_verdict_and_a_bad_point(
    tag: str, spoilt: Program, tmp_path: Path
) -> None:
    spoilt.output("standing", tag, "--out", tmp_path / "a.svg")
    root = ElementTree.fromstring((tmp_path / "a.svg").read_bytes())
    words = ["".join(n.itertext()) for n in root.iter("{http://www.w3.org/2000/svg}text")]
    verdict = {"C-01": "inside", "C-14": "outside", "C-20": "undecided"}[tag]
    assert any(f"{tag}: {verdict}" in word for word in words)
    assert any("indicated airspeed, kt" in word for word in words)
    assert any(word.startswith("point ") for word in words) == (tag == "C-01")
    spoilt.output("standing", tag, "--out", tmp_path / "b.svg")
    assert (tmp_path / "a.svg").read_bytes() == (tmp_path / "b.svg").read_bytes()


def test_figures_end_as_a_picture_does(spoilt: Program, tmp_path: Path) -> None:
    spoilt.output("standing", "C-01", "--out", tmp_path / "a.png")
    spoilt.output("standing", "C-01", "--out", tmp_path / "a.pdf")
    assert (tmp_path / "a.png").read_bytes().startswith(b"\x89PNG")
    assert (tmp_path / "a.pdf").read_bytes().startswith(b"%PDF")
    assert spoilt.run("standing", "C-01", "--out", tmp_path / "a.txt").exit_code == 2


def test_an_airframe_outside_may_have_its_indicator_to_blame_unless_that_was_on_a_bench(
    spoilt: Program, tmp_path: Path
) -> None:
    store = Program(copy_store(spoilt.store, tmp_path / "unchecked.sqlite3"))
    (plain,) = store.json("standing", "C-14")["airframes"]
    assert plain["port_alone_u95_kt"] >= _half_at_worst(plain)
    assert not plain["indicator_never_on_bench"]
    told = {"name": "airspeed indicator", "owner": "airframe"}
    change_terms(store.store, "shared by the sortie", {**told, "note": "0.6 m/s, no bench check"})
    (one,) = store.json("standing", "C-14")["airframes"]
    assert one["outside"]
    assert one["indicator_never_on_bench"]
    assert "it may be its indicator and not its port" in one["reason"]
    # kappa of 0.004 at every point, as one error: 1.96 of it, dV = V kappa / 2
    by_hand = 1.96 * 0.004 * one["at_ias_kt"] / 2.0
    assert one["instruments_u95_kt"] == pytest.approx(by_hand, rel=0.1)
    whole = np.hypot(_half_at_worst(one), one["instruments_u95_kt"])
    assert one["port_alone_u95_kt"] == pytest.approx(whole, rel=1e-6)
    text = store.output("standing", "C-14")
    assert "How much of that is the static port is known to" in text
    change_terms(store.store, "airspeed indicator", {"note": "0.1 m/s, bench check of 2024-03-01"})
    (checked,) = store.json("standing", "C-14")["airframes"]
    assert "indicator" not in checked["reason"]
    assert checked["instruments_u95_kt"] == pytest.approx(one["instruments_u95_kt"])


def _half_at_worst(verdict: dict[str, Any]) -> float:
    (row,) = [row for row in verdict["rows"] if row["ias_kt"] == verdict["at_ias_kt"]]
    return float(row["high_kt"] - row["low_kt"]) / 2.0


def change_terms(place: str, name: str, values: dict[str, str]) -> None:
    """Give every term of a name in a store other values."""
    with open_store(place) as store, store.writing() as session:
        wanted = update(UncertaintyTerm).where(UncertaintyTerm.name == name)
        session.execute(wanted.values(**values))
