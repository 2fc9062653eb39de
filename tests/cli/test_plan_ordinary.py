"""What a plan says of ordinary flights in place of a test sortie."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.test_plan_sorties import U_KAPPA, fleet_that_shares

pytestmark = pytest.mark.long


def test_without_ordinary_flights_in_the_store_simulated_ones_stand_in(tmp_path: Path) -> None:
    program = fleet_that_shares(tmp_path, 0.3)
    plan = program.json("plan", "C-01")
    assert plan["ordinary"]["flights"] == 3
    assert plan["ordinary"]["learnt_from"] == 0
    assert 0.0 < plan["ordinary"]["largest_after_kt"] < plan["largest_before_kt"]
    assert "three ordinary flights instead (like simulated ones)" in program.output("plan", "C-01")


@pytest.mark.parametrize(("larger", "better"), [(0.3, True), (10.0, False)])
def test_ordinary_flights_of_the_store_tell_what_three_more_would_do(
    larger: float, better: bool, tmp_path: Path
) -> None:
    program = fleet_that_shares(tmp_path, 0.02)
    supposed = program.json("plan", "C-01")["ordinary"]["largest_after_kt"]
    head, *lines = (tmp_path / "points.csv").read_text(encoding="utf-8").splitlines()
    rows = [line.split(",") for line in lines if line.startswith(("C-02", "C-03"))]
    for row in rows:
        row[1], row[U_KAPPA] = "2024-06-01", f"{larger * float(row[U_KAPPA]):.6f}"
        row[U_KAPPA + 1] = "0"
    flights = [f"{head},technique", *(f"{','.join(row)},ordinary flight" for row in rows)]
    (tmp_path / "flights.csv").write_text("\n".join(flights) + "\n", encoding="utf-8")
    program.output("points", "import", tmp_path / "flights.csv")
    plan = program.json("plan", "C-01")
    assert plan["ordinary"]["learnt_from"] == 4
    assert (plan["ordinary"]["largest_after_kt"] < supposed) is better
    assert "like the 4 in the store" in program.output("plan", "C-01")
