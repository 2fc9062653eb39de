"""Time and memory of a store as it grows to a million points, and the plans of its queries.

``python -m tests.bench.store_scale`` makes invented stores (SQLite) of 1, 10 and 100 % of
10,000 airframes of five types with 100,000 sorties and 1,000,000 points, and prints for
each size what every operation takes in a process of its own, with the peak of that
process's memory, and the exponents with which time grows. Bulk import is held against a
bare ``executemany`` of the very same rows into tables with the same indexes and rules, in
one transaction, reading them not counted. Listing the groups is held against counting the same
points by group with nothing but the driver. ``--percent 1 10`` runs smaller sizes only;
``--folder`` says where the files go, which are deleted at the end.
"""

from __future__ import annotations

import argparse
import json
import math
import os
import resource
import shutil
import sqlite3
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import Any

from fleetcal.services.curves.judge_airframes import judge_airframe
from fleetcal.services.curves.list_groups import list_groups
from fleetcal.services.curves.pooled_curve import CurveRequest, pooled_curve
from fleetcal.services.curves.position_error import POSITION_ERROR
from fleetcal.services.curves.quantity import PoolRequest
from fleetcal.services.points.decide_points import list_points
from fleetcal.services.points.exchange_points import import_points
from fleetcal.services.sharing.merge_share import Choices, merge
from fleetcal.services.sharing.share_store import ShareChoice, share
from fleetcal.store import PointFilter, Store, open_store, revise_description
from tests.bench.large_store import (
    ENGINES,
    POINTS,
    PORTS,
    PROPELLERS,
    SORTIES,
    large_fleet,
    tag_of,
    write_points,
)

AIRFRAMES = 10_000
MOST_TIMES_BARE, LONGEST_STANDING_S = 3.0, 1.0
TAG = tag_of(1)
GROUP = f"{PORTS[0]} / {ENGINES[0]} / {PROPELLERS[0]}"
KIND = "Corrie 1"
OWNERS = range(1, 51, 5)  # ten airframes of one owner
WRITTEN = ("source_file", "sortie", "calibration_point", "uncertainty_term")
BARE_COUNT = """
    SELECT f.static_source_id, f.engine_id, f.propeller_id, p.flap_setting, p.accepted,
        count(DISTINCT s.airframe_id), count(DISTINCT s.id), count(*), min(p.vic_kt), max(p.vic_kt)
    FROM calibration_point p JOIN sortie s ON s.id = p.sortie_id
        JOIN equipment_fit f ON f.id = s.equipment_fit_id
    GROUP BY f.static_source_id, f.engine_id, f.propeller_id, p.flap_setting, p.accepted"""
NOTED = ("store_change", "changed_row", "row_state")


def main() -> None:
    """Print the tables, or the JSON of one operation that a child process was asked for."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--percent", type=int, nargs="+", default=[1, 10, 100])
    parser.add_argument("--folder", type=Path, default=None)
    parser.add_argument("--operation", help=argparse.SUPPRESS)
    parser.add_argument("--airframes", type=int, help=argparse.SUPPRESS)
    chosen = parser.parse_args()
    if chosen.operation:
        print(json.dumps(_child(chosen.operation, chosen.folder, chosen.airframes)))
        return
    found = {}
    for percent in chosen.percent:
        with tempfile.TemporaryDirectory(dir=chosen.folder) as name:
            found[percent] = _one_size(Path(name), AIRFRAMES * percent // 100)
    _report(found)


def _one_size(folder: Path, airframes: int) -> dict[str, dict[str, float]]:
    write_points(folder / "points.csv", range(airframes))
    told = {}
    for operation in OPERATIONS:
        command = [sys.executable, "-m", "tests.bench.store_scale", "--operation", operation]
        command += ["--folder", str(folder), "--airframes", str(airframes)]
        environment = {**os.environ, "XDG_CACHE_HOME": str(folder / "cache")}
        ran = subprocess.run(command, env=environment, capture_output=True, text=True, check=False)
        if ran.returncode:
            raise RuntimeError(ran.stderr)
        told[operation] = json.loads(ran.stdout)
    return told


def _child(operation: str, folder: Path, airframes: int) -> dict[str, float]:
    work, times = OPERATIONS[operation]
    with open_store(folder / "store.sqlite3") as store:
        taken = [_timed(work, store, folder, airframes) for _ in range(times)]
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0
    return {"s": statistics.median(taken), "mib": peak}


def _timed(work: Callable[..., float | None], *arguments: Any) -> float:
    begun = time.perf_counter()
    own = work(*arguments)
    return time.perf_counter() - begun if own is None else own


def _describe(store: Store, folder: Path, airframes: int) -> None:
    with store.writing() as session:
        revise_description(session, large_fleet(airframes))


def _import(store: Store, folder: Path, airframes: int) -> None:
    assert import_points(store, folder / "points.csv").points == airframes * SORTIES * POINTS


def _bare(store: Store, folder: Path, airframes: int) -> float:
    """Write the rows of the import with nothing but the driver."""
    bare = folder / "bare.sqlite3"
    open_store(bare).close()
    with open_store(bare) as other:
        _describe(other, folder, airframes)
    taken = 0.0
    with (
        closing(sqlite3.connect(folder / "store.sqlite3")) as source,
        closing(sqlite3.connect(bare, isolation_level=None)) as target,
    ):
        last = target.execute("SELECT max(id) FROM store_change").fetchone()[0]
        target.execute("PRAGMA foreign_keys=ON")
        target.execute("BEGIN IMMEDIATE")
        for table in (*WRITTEN, *NOTED):
            new = {"store_change": f" WHERE id > {last}"}.get(table, "")
            new = f" WHERE store_change_id > {last}" if table in NOTED[1:] else new
            rows = source.execute(f"SELECT * FROM {table}{new} ORDER BY id")
            marks = ", ".join("?" * len(rows.description))
            sql = f"INSERT INTO {table} VALUES ({marks})"
            while part := rows.fetchmany(20_000):
                begun = time.perf_counter()
                target.executemany(sql, part)
                taken += time.perf_counter() - begun
        begun = time.perf_counter()
        target.execute("COMMIT")
        taken += time.perf_counter() - begun
    bare.unlink()
    return taken


def _list_airframe(store: Store, folder: Path, airframes: int) -> None:
    assert list_points(store, PointFilter(airframe=TAG)).points


def _list_group(store: Store, folder: Path, airframes: int) -> None:
    wanted = PointFilter(
        type=KIND, static_source=PORTS[0], engine=ENGINES[0], propeller=PROPELLERS[0]
    )
    assert list_points(store, wanted).points


def _groups(store: Store, folder: Path, airframes: int) -> None:
    assert sum(one.points for one in list_groups(store).groups) == airframes * SORTIES * POINTS


def _bare_groups(store: Store, folder: Path, airframes: int) -> None:
    with closing(sqlite3.connect(folder / "store.sqlite3")) as source:
        rows = source.execute(BARE_COUNT).fetchall()
    assert sum(row[-3] for row in rows) == airframes * SORTIES * POINTS


def _standing(store: Store, folder: Path, airframes: int) -> None:
    judge_airframe(store, TAG, PoolRequest(quantity=POSITION_ERROR))


def _further_sortie(store: Store, folder: Path, airframes: int) -> None:
    write_points(folder / "more.csv", range(1, 2), year=2021, sorties=1)
    import_points(store, folder / "more.csv")


def _curve(store: Store, folder: Path, airframes: int) -> None:
    pooled_curve(store, CurveRequest(group=GROUP, type=KIND))


def _share(store: Store, folder: Path, airframes: int) -> None:
    (folder / "one.json").unlink(missing_ok=True)
    share(store, folder / "one.json", ShareChoice(airframes=[TAG], issues=False))


def _merge(store: Store, folder: Path, airframes: int) -> float:
    """Merge what an owner of ten airframes flew in a store of his own: 1,000 points."""
    shutil.rmtree(folder / "owner", ignore_errors=True)
    (folder / "owner").mkdir()
    with open_store(folder / "owner" / "store.sqlite3") as own:
        _describe(own, folder, 200)
        write_points(folder / "owner" / "points.csv", OWNERS, year=2022)
        import_points(own, folder / "owner" / "points.csv")
        tags = [tag_of(number) for number in OWNERS]
        share(own, folder / "owner" / "share.json", ShareChoice(airframes=tags))
    place = folder / "store.sqlite3"
    begun = time.perf_counter()
    merged = merge(lambda: open_store(place), folder / "owner" / "share.json", Choices(None, {}))
    taken = time.perf_counter() - begun
    assert merged.stored
    return taken


OPERATIONS: dict[str, tuple[Callable[..., float | None], int]] = {
    "describe the fleet": (_describe, 1),
    "import all points": (_import, 1),
    "the same rows, bare executemany": (_bare, 1),
    "list one airframe": (_list_airframe, 5),
    "list one group": (_list_group, 3),
    "list the groups": (_groups, 3),
    "the same counts, bare SQL": (_bare_groups, 3),
    "standing of one, first time": (_standing, 1),
    "standing of one": (_standing, 5),
    "import one sortie": (_further_sortie, 1),
    "standing of one after that": (_standing, 5),
    "curve of one group": (_curve, 1),
    "share one airframe": (_share, 1),
    "merge 1,000 points of ten": (_merge, 1),
}


def _report(found: dict[int, dict[str, dict[str, float]]]) -> None:
    sizes = list(found)
    heads = "".join(f"{f'{percent} %':>20}" for percent in sizes)
    print(f"{'':34}{heads}   exponents")
    for operation in OPERATIONS:
        cells = [found[percent][operation] for percent in sizes]
        told = "".join(f"{cell['s']:11.3f} s{cell['mib']:5.0f} M" for cell in cells)
        steps = zip(sizes, sizes[1:], cells, cells[1:], strict=False)
        grown = [math.log(b["s"] / a["s"]) / math.log(n / m) for m, n, a, b in steps]
        print(f"{operation:34}{told}   {'  '.join(f'{one:.2f}' for one in grown)}")
    largest = found[max(sizes)]
    times = largest["import all points"]["s"] / largest["the same rows, bare executemany"]["s"]
    standing = max(largest["standing of one"]["s"], largest["standing of one after that"]["s"])
    print(f"import over bare executemany: {times:.2f} (at most {MOST_TIMES_BARE:g})")
    counting = largest["list the groups"]["s"] / largest["the same counts, bare SQL"]["s"]
    print(f"listing groups over counting in bare SQL: {counting:.2f}")
    print(f"standing of one: {standing:.2f} s (below {LONGEST_STANDING_S:g})")


if __name__ == "__main__":
    main()
