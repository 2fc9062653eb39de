"""A damaged file given to the program: stored whole and true, or refused with nothing left."""

from __future__ import annotations

import hashlib
import time
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner, Result

from fleetcal.cli import main
from tests.flightlog.corpus.damage import damaged
from tests.flightlog.corpus.flown import KAPPA, fly
from tests.flightlog.corpus.records import icartt, igc
from tests.flightlog.corpus.shapes import shapes
from tests.one_airframe import FLEET
from tests.store_places import held_below, opened, store_at

#: Processor time, which other work on the machine hardly touches.
LONGEST_S = 5.0
MANY = 150
# bad data of any kind, or a fit that is not possible
REFUSED = {3, *range(31, 39), 5}


@cache
def originals() -> list[bytes]:
    """A whole flight in every shape of the corpus."""
    flown = fly(6, 36000.0)
    return [*shapes(flown).values(), icartt(flown).encode(), igc(flown).encode()]


def place(folder: Path) -> str:
    """Return where the store of a folder is."""
    return store_at(folder / "store.sqlite3")


def run(folder: Path, *words: object) -> Result:
    """Run the program on the store of a folder."""
    arguments = ["--store", place(folder), *(str(word) for word in words)]
    return CliRunner().invoke(main, arguments)


def state(folder: Path) -> dict[str, str]:
    """Fingerprint of every file of a folder, and of its store on a server."""
    files = {path.name: path.read_bytes() for path in folder.glob("[!l]*")} | held_below(folder)
    return {name: hashlib.sha256(content).hexdigest() for name, content in files.items()}


def counts(folder: Path) -> tuple[int, int, int]:
    """Count sorties, points and legs, after the database has looked itself over."""
    with opened(place(folder)) as connection:
        if "://" not in place(folder):
            assert connection.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
            assert connection.execute("PRAGMA foreign_key_check").fetchall() == []
        tables = ("sortie", "calibration_point", "leg")
        found = [connection.execute(f"SELECT COUNT(*) FROM {name}").fetchone() for name in tables]
    return found[0][0], found[1][0], found[2][0]


def off(folder: Path) -> float:
    """Return how far the worst accepted point is from the truth, in its standard uncertainty."""
    with opened(place(folder)) as connection:
        rows = connection.execute(
            "SELECT kappa, u_kappa FROM calibration_point WHERE accepted"
        ).fetchall()
    return max((abs(kappa - KAPPA) / u for kappa, u in rows), default=0.0)


def reduce(folder: Path, seed: int) -> str:
    """Damage a file, reduce it into the store, and return how it ended."""
    rng = np.random.default_rng(seed)
    log = folder / "log"
    log.write_bytes(damaged(originals()[seed % len(originals())], rng))
    before, held = state(folder), counts(folder)
    words = (
        *("--airframe", "C-01", "--weight-kg", "580", "--date", "2024-05-02"),
        "--another-flight",  # it is the same one, damaged anew
    )
    figure = ("--out", folder / "figure.svg") if seed % 10 == 0 else ()
    begin = time.process_time()
    result = run(folder, "reduce", log, *words, *figure)
    taken = time.process_time() - begin
    assert taken < LONGEST_S, f"seed {seed} took {taken:.1f} s"
    after = counts(folder)
    if result.exit_code == 0:
        assert after[0] == held[0] + 1 or "Nothing was added" in result.output
        if after[0] > held[0]:
            assert after[1] > held[1]
            assert after[2] >= held[2] + 3
        (folder / "figure.svg").unlink(missing_ok=True)
        return "stored"
    assert result.exit_code in REFUSED, (seed, result.exit_code, result.exception, result.output)
    assert "Error: " in result.stderr
    assert state(folder) == before
    return "refused"


def begin(folder: Path) -> None:
    """Make a store that knows one airframe."""
    (folder / "fleet.toml").write_text(FLEET)
    assert run(folder, "fleet", "load", folder / "fleet.toml").exit_code == 0


def test_some_damaged_files_are_stored_whole_or_leave_nothing(tmp_path: Path) -> None:
    begin(tmp_path)
    ends = [reduce(tmp_path, seed) for seed in range(60)]
    assert {"stored", "refused"} == set(ends)
    assert off(tmp_path) < 3.0


@pytest.mark.long
def test_many_damaged_files_are_stored_whole_or_leave_nothing(tmp_path: Path) -> None:
    begin(tmp_path)
    ends = [reduce(tmp_path, seed) for seed in range(1000, 1000 + MANY)]
    print({name: ends.count(name) for name in sorted(set(ends))})
    assert MANY // 10 < ends.count("refused") < 9 * MANY // 10
    assert off(tmp_path) < 3.0
