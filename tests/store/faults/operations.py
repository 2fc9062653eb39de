"""What is killed: real commands of the program, each on a store with earlier work in it."""

from __future__ import annotations

import contextlib
import hashlib
import io
import shutil
import sqlite3
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from fleetcal.cli import main
from fleetcal.publish.published_files import FORMATS
from fleetcal.services.fleet.fleet_file import read_fleet_file
from fleetcal.services.points.exchange_points import import_points
from fleetcal.store import (
    IssueSeries,
    NewBenchCheck,
    NewIssue,
    NewLeakCheck,
    add_bench_check,
    add_issue,
    add_leak_check,
    add_source,
    open_store,
    save_description,
)
from tests.cli.invented_fleet import GROUPS, SMALL_GROUP, TAIL, fleet_toml, points_csv
from tests.cli.invented_sortie import fly as fly_sortie
from tests.cli.invented_sortie import log_text
from tests.older_store import step
from tests.store.invented_rows import MOMENT

from .places import Places

FEW = (GROUPS[0], SMALL_GROUP)
OLDER = "0003"
_SHA = hashlib.sha256(b"{}").hexdigest()
_ISSUE = NewIssue(
    issued_on=date(2024, 5, 6),
    why="first",
    inputs_json="{}",
    inputs_sha256=_SHA,
    table_json="{}",
    table_sha256=_SHA,
    files_json="{}",
    model="none",
)
_OLD_PAGE = b"what was published before"
#: As the program names the files of this group.
_STEM = "Corrie_2__tail-boom_flush_pair__flaps_up"


@dataclass(frozen=True)
class Bench:
    """What operations work with: files to read, and where stores can be.

    Attributes:
        inputs: Folder of the files that commands read.
    """

    inputs: Path
    places: Places


@dataclass(frozen=True, kw_only=True)
class Operation:
    """One command.

    Attributes:
        words: Of the command, from the folder of input files and the folder to write to.
        original: Makes a store that the command is to work on, and returns its place.
        opening_changes: Whether merely opening such a store does the work.
        publishes: Whether files are written as well.
        repeatable: Whether doing it twice leaves what doing it once does.
    """

    name: str
    words: Callable[[Path, Path], list[str]]
    original: Callable[[Bench], str]
    opening_changes: bool = False
    publishes: bool = False
    repeatable: bool = True


def run_words(place: str, words: list[str]) -> None:
    """Run a command as the terminal would."""
    main(["--store", place, *words], standalone_mode=False)


def run_quietly(place: str, *words: object) -> None:
    """Run a command without its words."""
    with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()):
        run_words(place, [str(word) for word in words])


def write_inputs(folder: Path) -> None:
    """Write every file that the commands read."""
    folder.mkdir(exist_ok=True)
    (folder / "fleet.toml").write_text(fleet_toml(FEW), encoding="utf-8")
    speeds = tuple(60.0 + 8.0 * i for i in range(10))
    for name, text in (
        ("flown.csv", points_csv(FEW)),
        ("more.csv", points_csv(FEW, seed=8, speeds_kt=speeds).replace("2024", "2022")),
        ("others.csv", points_csv(FEW, seed=9, speeds_kt=speeds[:6]).replace("2024", "2021")),
    ):
        (folder / name).write_text(text, encoding="utf-8")
    (folder / "flight.csv").write_text(log_text(fly_sortie()), encoding="utf-8")
    theirs = str(folder / "theirs.sqlite3")
    run_quietly(theirs, "fleet", "load", folder / "fleet.toml")
    run_quietly(theirs, "points", "import", folder / "others.csv")
    run_quietly(theirs, "share", "--out", folder / "theirs.json")
    run_quietly(theirs, "store", "backup", "--out", folder / "backup.sqlite3")


def _flown(bench: Bench) -> str:
    """Return a store with a fleet and points of each airframe."""
    place = bench.places.empty("flown")
    run_quietly(place, "fleet", "load", bench.inputs / "fleet.toml")
    run_quietly(place, "points", "import", bench.inputs / "flown.csv")
    return place


def _older(bench: Bench) -> str:
    """Return a store of an older revision with rows in each of its tables."""
    place = bench.places.empty("older")
    with open_store(place) as store:
        with store.writing() as session:
            save_description(session, read_fleet_file(bench.inputs / "fleet.toml"))
        import_points(store, bench.inputs / "flown.csv")
        import_points(store, bench.inputs / "more.csv")
        with store.writing() as session:
            source = add_source(session, "b" * 64, "indicator.csv", "bench", now=MOMENT)
            check = NewBenchCheck(
                airframe="C-02",
                kind="airspeed",
                checked_on=date(2019, 5, 1),
                u=0.4,
                rows=((60.0, 0.5),),
            )
            add_bench_check(session, source, check, now=MOMENT)
            add_leak_check(
                session,
                NewLeakCheck(
                    airframe="C-02",
                    checked_on=date(2021, 5, 8),
                    loss_ft=30.0,
                    limit_ft=100.0,
                    limit_source="invented",
                ),
                now=MOMENT,
            )
            add_issue(session, IssueSeries("Corrie 2", TAIL, "up"), 1, _ISSUE, now=MOMENT)
    step(place, "downgrade", OLDER)
    if "://" not in place:
        with contextlib.closing(sqlite3.connect(place)) as file:
            file.execute("VACUUM")  # an older program left no pages free
    return place


OPERATIONS = (
    Operation(
        name="points import",
        words=lambda i, _: ["points", "import", f"{i / 'more.csv'}"],
        original=_flown,
    ),
    Operation(
        name="reduce",
        words=lambda i, _: [
            "reduce",
            f"{i / 'flight.csv'}",
            "--airframe",
            "C-01",
            "--weight-kg",
            "580",
        ],
        original=_flown,
    ),
    Operation(name="merge", words=lambda i, _: ["merge", f"{i / 'theirs.json'}"], original=_flown),
    Operation(
        name="restore",
        words=lambda i, _: ["store", "restore", f"{i / 'backup.sqlite3'}", "--replace"],
        original=_flown,
        repeatable=False,  # each time the history says which one it took the place of
    ),
    Operation(
        name="upgrade", words=lambda i, _: ["points", "list"], original=_older, opening_changes=True
    ),
    Operation(
        name="issue new",
        words=lambda _, o: [
            *("publish", TAIL, "--issue", "--reason", "first", "--date", "2024-05-06"),
            *("--out", str(o)),
        ],
        original=_flown,
        publishes=True,
        repeatable=False,
    ),
)
BY_NAME = {operation.name: operation for operation in OPERATIONS}


def begin_output(folder: Path) -> None:
    """Make the folder to publish in, with older files in the places of those to come."""
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir()
    for ending in FORMATS.values():
        (folder / f"{_STEM}{ending}").write_bytes(_OLD_PAGE)
