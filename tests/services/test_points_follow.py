"""Stored points solved anew: all sound ones at once, and the others one by one."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from fleetcal.airdata.solve_pieces import solve_pieces
from fleetcal.cli import main
from fleetcal.services.keeping import points_follow
from fleetcal.services.keeping.points_follow import broken_points
from fleetcal.store import StoredPoint, open_store, select_legs, select_points
from fleetcal.store.integrity import sortie_settings

LOG = Path(__file__).parents[2] / "seed_demo" / "first-hours" / "flight-1.csv"


@pytest.fixture(scope="module")
def stored(tmp_path_factory: pytest.TempPathFactory) -> tuple[list[StoredPoint], Any, Any]:
    """Points, legs and settings of a store with one flight."""
    place = tmp_path_factory.mktemp("follow") / "store.sqlite3"
    words = ["reduce", str(LOG), "--airframe", "F-01", "--new-airframe", "--weight-kg", "560"]
    main(["--store", str(place), *words], standalone_mode=False)
    with open_store(place) as store, store.reading() as session:
        return select_points(session), select_legs(session), sortie_settings(session)


@pytest.fixture
def solves(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """How many flights were solved one by one, with how many groups each."""
    found: list[int] = []
    solve = solve_pieces

    def counting(pieces: Any, *rest: Any) -> Any:
        found.append(pieces.groups)
        return solve(pieces, *rest)

    monkeypatch.setattr(points_follow, "solve_pieces", counting)
    return found


def test_points_that_follow_from_their_legs_are_solved_all_at_once(
    stored: tuple[list[StoredPoint], Any, Any], solves: list[int]
) -> None:
    points, legs, settings = stored
    assert len(points) >= 3
    assert list(broken_points(points, legs, settings)) == []
    assert solves == []


def test_a_point_that_does_not_is_solved_by_itself_before_it_is_named(
    stored: tuple[list[StoredPoint], Any, Any], solves: list[int]
) -> None:
    points, legs, settings = stored
    changed = [replace(points[0], kappa=points[0].kappa + 0.1), *points[1:]]
    faults = [what for _, what in broken_points(changed, legs, settings)]
    assert any("does not follow from its stored legs" in what for what in faults)
    assert solves
