"""One airframe judged with what was kept of the others, against all judged anew."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from dataclasses import asdict, replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from fleetcal.services.curves import judge_airframes, judge_from_kept, kept_pool
from fleetcal.services.curves.judgement import Judgement
from fleetcal.services.curves.position_error import POSITION_ERROR
from fleetcal.services.curves.quantity import PoolRequest
from fleetcal.services.keeping.store_history import undo
from fleetcal.services.points.decide_points import list_points, reject
from fleetcal.services.points.exchange_points import import_points
from fleetcal.store import PointFilter, Store, load_description, open_store, revise_description
from tests.bench.large_store import TYPES, large_fleet, tag_of, write_points
from tests.store_places import begun_at

pytestmark = [pytest.mark.long, pytest.mark.any_store("opens a file by itself")]

MANY = 120  # of five types; only those of the first are flown, six to a group
MINE, OTHER = tag_of(5), tag_of(65)


@pytest.fixture(scope="module")
def flown_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A store of 24 airframes of one type, three sorties of five points each."""
    folder = tmp_path_factory.mktemp("large")
    with open_store(begun_at(folder / "store.sqlite3")) as store:
        with store.writing() as session:
            revise_description(session, large_fleet(MANY))
        for number in range(0, MANY, TYPES):
            write_points(folder / "points.csv", range(number, number + 1), sorties=3, points=5)
            import_points(store, folder / "points.csv")
    return folder / "store.sqlite3"


def judge_airframe(store: Store, tag: str) -> Judgement:
    return judge_airframes.judge_airframe(store, tag, PoolRequest(quantity=POSITION_ERROR))


@pytest.fixture
def store(flown_file: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Store]:
    """The store, with a cache folder of its own, kept from 20 airframes on."""
    monkeypatch.setattr(kept_pool, "user_cache_path", lambda *_, **__: tmp_path / "cache")
    monkeypatch.setattr(judge_from_kept, "FEWEST_WORTH_KEEPING", 20)
    monkeypatch.setattr(judge_from_kept, "_ONE_IN", 10)
    with open_store(shutil.copy(flown_file, tmp_path / "store.sqlite3")) as opened:
        yield opened


@pytest.fixture
def reads(monkeypatch: pytest.MonkeyPatch) -> list[str | None]:
    """Airframes whose points were read, None for all of a type."""
    seen: list[str | None] = []
    for name in ("position_error", "judge_from_kept"):
        target = f"fleetcal.services.curves.{name}.select_points"
        monkeypatch.setattr(target, _noting(seen))
    return seen


def _noting(seen: list[str | None]) -> Callable[..., Any]:
    from fleetcal.store import select_points

    def noted(session: Any, wanted: PointFilter) -> Any:
        seen.append(wanted.airframe)
        return select_points(session, wanted)

    return noted


def fly_again(store: Store, folder: Path, tag_number: int, year: int = 2021) -> None:
    """Add a sortie of six points."""
    path = folder / f"again-{tag_number}-{year}.csv"
    write_points(path, range(tag_number, tag_number + 1), year=year, sorties=1, points=6)
    import_points(store, path)


def anew(store: Store, tag: str, folder: Path) -> Judgement:
    """Judge everybody, with nothing kept."""
    shutil.rmtree(folder / "cache", ignore_errors=True)
    return judge_airframe(store, tag)


def assert_alike(one: Any, other: Any, tolerance: float, where: str = "") -> None:
    """Compare numbers within a tolerance and all else exactly."""
    if isinstance(one, float) and isinstance(other, float):
        assert abs(one - other) <= tolerance, (where, one, other)
    elif isinstance(one, dict):
        assert one.keys() == other.keys(), where
        for name in one:
            assert_alike(one[name], other[name], tolerance, f"{where}.{name}")
    elif isinstance(one, list | tuple):
        assert len(one) == len(other), where
        for i, (left, right) in enumerate(zip(one, other, strict=True)):
            assert_alike(left, right, tolerance, f"{where}[{i}]")
    else:
        assert one == other, where


def test_nothing_changed_gives_the_same_from_the_airframes_own_points(
    store: Store, tmp_path: Path, reads: list[str | None]
) -> None:
    for tag in (MINE, OTHER):
        whole = anew(store, tag, tmp_path)
        reads.clear()
        quick = judge_airframe(store, tag)
        assert reads == [tag]
        assert_alike(asdict(quick), asdict(whole), 1e-9)


@pytest.mark.parametrize("flown", [5, 65])
def test_a_further_sortie_is_judged_with_the_sums_of_the_others(
    store: Store, tmp_path: Path, reads: list[str | None], flown: int
) -> None:
    judge_airframe(store, MINE)
    fly_again(store, tmp_path, flown)
    reads.clear()
    quick = judge_airframe(store, MINE)
    assert set(reads) == {MINE, tag_of(flown)}
    whole = anew(store, MINE, tmp_path)
    assert (quick.fitted_points, quick.fitted_sorties) == (24 * 15 + 6, 24 * 3 + 1)
    assert (quick.fitted_points, quick.fitted_sorties, quick.judged) == (
        *(whole.fitted_points, whole.fitted_sorties, whole.judged),
    )
    ((told,), (expected,)) = quick.airframes, whole.airframes
    assert told.verdict == expected.verdict
    assert told.points == expected.points == 15 + 6 * (flown == 5)
    assert told.p_value == pytest.approx(expected.p_value, abs=1e-4)
    assert_alike([asdict(r) for r in told.rows], [asdict(r) for r in expected.rows], 1e-3)


def test_a_bad_point_of_a_new_sortie_is_named_as_it_would_be_anew(
    store: Store, tmp_path: Path
) -> None:
    judge_airframe(store, MINE)
    path = tmp_path / "bad.csv"
    write_points(path, range(5, 6), year=2021, sorties=1, points=6)
    lines = path.read_text().splitlines()
    cells = lines[3].split(",")
    cells[9] = f"{float(cells[9]) + 0.2:.6f}"
    path.write_text("\n".join([*lines[:3], ",".join(cells), *lines[4:]]) + "\n")
    import_points(store, path)
    quick, whole = judge_airframe(store, MINE), anew(store, MINE, tmp_path)
    assert len(quick.disagreements) == len(whole.disagreements) == 1
    ((told,), (expected,)) = quick.disagreements, whole.disagreements
    assert told.numbers == expected.numbers
    assert told.away == pytest.approx(expected.away, abs=0.01)
    assert told.adjusted_p_value == pytest.approx(expected.adjusted_p_value, rel=0.2)


def test_a_rejected_point_is_left_out_and_told(store: Store, tmp_path: Path) -> None:
    judge_airframe(store, MINE)
    ids = [p.point_id for p in list_points(store, PointFilter(airframe=MINE)).points][:2]
    reject(store, ids, "loose hose")
    quick = judge_airframe(store, MINE)
    assert quick.airframes[0].points == 13
    assert quick.left_out == anew(store, MINE, tmp_path).left_out
    assert "loose hose" in quick.left_out[0]


def _retype(store: Store, tmp_path: Path) -> None:
    with store.writing() as session:
        fleet = load_description(session)
        kinds = [replace(kind, scaling_speed_kt=46.0) for kind in fleet.types]
        revise_description(session, replace(fleet, types=tuple(kinds)))


def _come_to_a_group(store: Store, tmp_path: Path) -> None:
    with store.writing() as session:
        fleet = load_description(session)
        new = replace(fleet.airframes[0], tag="NEW")
        revise_description(session, replace(fleet, airframes=(*fleet.airframes, new)))
    path = tmp_path / "new.csv"
    write_points(path, range(5, 6), year=2022, sorties=1)
    path.write_text(path.read_text().replace(tag_of(5), "NEW"))
    import_points(store, path)


def _damage(store: Store, tmp_path: Path) -> None:
    (file,) = (tmp_path / "cache").iterdir()
    file.write_bytes(file.read_bytes()[:-200])


def _many(store: Store, tmp_path: Path) -> None:
    for number in (5, 10, 15):
        fly_again(store, tmp_path, number)


def _take_back(store: Store, tmp_path: Path) -> None:
    undo(store)


@pytest.mark.parametrize("change", [_take_back, _retype, _come_to_a_group, _damage, _many])
def test_all_are_judged_anew_where_what_was_kept_will_not_do(
    store: Store,
    tmp_path: Path,
    reads: list[str | None],
    change: Callable[[Store, Path], None],
) -> None:
    judge_airframe(store, MINE)
    change(store, tmp_path)
    reads.clear()
    told = judge_airframe(store, MINE)
    assert None in reads
    assert_alike(asdict(told), asdict(anew(store, MINE, tmp_path)), 0.0)


def test_another_store_in_the_same_place_is_not_taken_for_the_first(
    store: Store, tmp_path: Path, reads: list[str | None]
) -> None:
    judge_airframe(store, MINE)
    (tmp_path / "store.sqlite3").unlink()
    with open_store(begun_at(tmp_path / "store.sqlite3")) as another:
        with another.writing() as session:
            revise_description(session, large_fleet(MANY))
        for number in range(0, MANY, TYPES):
            fly_again(another, tmp_path, number, year=2020)
        reads.clear()
        judge_airframe(another, MINE)
    assert None in reads


def test_few_airframes_are_not_kept(
    store: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(judge_from_kept, "FEWEST_WORTH_KEEPING", 25)
    judge_airframe(store, MINE)
    assert not (tmp_path / "cache").exists()


def test_a_cache_folder_that_cannot_be_made_changes_nothing(
    store: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    expected = anew(store, MINE, tmp_path)
    blocked = tmp_path / "a file"
    blocked.write_text("")
    monkeypatch.setattr(kept_pool, "user_cache_path", lambda *_, **__: blocked)
    assert_alike(asdict(judge_airframe(store, MINE)), asdict(expected), 0.0)


def test_what_is_kept_reads_back_as_it_was(store: Store) -> None:
    judge_airframe(store, MINE)
    kept = kept_pool.kept_pool(store, "Corrie 0", "up")
    assert kept is not None
    kept_pool.keep_pool(store, kept)
    again = kept_pool.kept_pool(store, "Corrie 0", "up")
    assert again is not None
    assert (again.mark, again.groups, again.members) == (kept.mark, kept.groups, kept.members)
    np.testing.assert_array_equal(again.sums.products, kept.sums.products)
    np.testing.assert_array_equal(again.lines, kept.lines)
