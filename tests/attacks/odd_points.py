"""Bring one odd point into a store, then ask every question: python -m tests.attacks.odd_points.

A point comes in by a file of points, by a share from a store that has it, and as an older store
may hold it, which no gate has seen; the one from a file is accepted by hand too. Whatever it
says, a command must answer, or fail with a message that names the point. Counted are tracebacks,
hangs, failures that name nothing, and points that count though nobody was told of a doubt.
"""

from __future__ import annotations

import argparse
import atexit
import contextlib
import re
import shutil
import signal
import sqlite3
import tempfile
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from click.testing import CliRunner, Result

from fleetcal.cli import main as program
from tests.cli.command_line import Program
from tests.cli.invented_fleet import TAIL, WING, Group, fleet_toml, points_csv
from tests.store_places import begun_at

TAG = "C-02"
USUAL = {
    "airframe": TAG,
    "flown_on": "2024-06-05",
    "weight_kg": "580",
    "vic_kt": "90",
    "pressure_altitude_ft": "3500",
    "kappa": "0.02",
    "u_kappa": "0.008",
}
#: What is odd of a point, by column; one line each.
ODD: tuple[dict[str, str], ...] = (
    *({"weight_kg": cell} for cell in ("1", "58", "1279", "5800", "1e308", "1e-300")),
    *({"u_kappa": c} for c in ("1e-320", "1e-12", "1e-9", "1e-5", "2e-5", "1e-4", "5", "1e308")),
    *({"kappa": cell} for cell in ("-0.99", "-0.6", "-0.45", "0.7", "1.4", "1.5", "1e300")),
    *({"vic_kt": cell} for cell in ("1e-300", "1", "12", "310", "585", "1e308")),
    *({"pressure_altitude_ft": cell} for cell in ("-6400", "45000", "64000", "1e300")),
    *({"oat_degc": cell} for cell in ("-99", "59", "99", "288.15", "1e300")),
    *({"tas_kt": cell} for cell in ("1e-300", "40", "400", "1e300")),
    *({"flown_on": cell} for cell in ("2999-01-01", "9999-12-31", "1899-01-01", "1975-05-05")),
    {"leg_count": "2000000000", "residual_kt": "0"},
    *({"degrees_of_freedom": cell} for cell in ("1e-300", "0.01")),
    *({"wind_speed_kt": cell} for cell in ("130", "1e300")),
)
COMMANDS: tuple[tuple[str, ...], ...] = (
    ("curve", TAIL),
    ("curve", WING),
    ("curve", TAG),
    ("standing", TAG),
    ("outliers",),
    ("groups",),
    ("contrast", TAIL, WING),
    ("watch", TAG),
    ("change", TAG),
    ("points", "list"),
    ("points", "budget", "{point}"),
    ("publish", TAIL, "--out", "out", "--date", "2024-09-01"),
    ("publish", "--site", "--out", "site"),
    ("store", "check"),
)
WAYS = ("file", "accepted", "share", "older store")
HANG_S = 60


@dataclass(frozen=True)
class Came:
    """How a point came in.

    Attributes:
        refused: By the program, in words; empty if it is in the store.
        crashed: What the program did not foresee.
        told: Everything that was said.
    """

    refused: str = ""
    crashed: str = ""
    told: str = ""


class _HangError(Exception):
    """A command took too long."""


@contextlib.contextmanager
def at_most(seconds: int) -> Iterator[None]:
    """Raise in a command that takes longer."""

    def stop(*_: object) -> None:
        raise _HangError

    before = signal.signal(signal.SIGALRM, stop)
    signal.alarm(seconds)
    try:
        yield
    finally:
        signal.alarm(0)
        signal.signal(signal.SIGALRM, before)


def run(place: Path, words: tuple[str, ...]) -> Result:
    """Run a command on a store, at most so long."""
    with at_most(HANG_S):
        return CliRunner().invoke(program, ["--store", str(place), *words], prog_name="fleetcal")


def crash_of(result: Result) -> str:
    """Return what a command did not foresee, empty if it did."""
    unforeseen = result.exception is not None and not isinstance(result.exception, SystemExit)
    return repr(result.exception) if unforeseen else ""


def begin(folder: Path) -> Path:
    """Return a store of two groups of sound points."""
    groups = (Group(TAIL, 4, -0.05, 0.10), Group(WING, 4, 0.04, -0.12))
    place = Path(begun_at(folder / "begun.sqlite3"))
    (folder / "fleet.toml").write_text(fleet_toml(groups), encoding="utf-8")
    (folder / "points.csv").write_text(
        points_csv(groups, speeds_kt=(70.0, 95.0, 120.0)), encoding="utf-8"
    )
    Program(str(place)).output("fleet", "load", folder / "fleet.toml")
    Program(str(place)).output("points", "import", folder / "points.csv")
    return place


def newest_point(place: Path) -> int:
    """Return the number of the point that came in last."""
    with contextlib.closing(sqlite3.connect(place)) as store:
        return int(store.execute("SELECT max(id) FROM calibration_point").fetchone()[0])


def bring_in(place: Path, odd: dict[str, str], way: str, folder: Path) -> Came:
    """Bring an odd point into a store."""
    if way in ("file", "accepted"):
        came = _by_file(place, USUAL | odd, folder)
        if way == "accepted" and not came.refused and not came.crashed:
            result = run(place, ("points", "accept", str(newest_point(place))))
            return Came(refused=_failure(result), crashed=crash_of(result), told=result.output)
        return came
    if way == "older store":
        return _by_hand(place, odd, folder)
    other = Path(shutil.copy(place, folder / "other.sqlite3"))
    came = _by_hand(other, odd, folder)
    if came.refused:
        return came
    share = str(folder / "their.share")
    for target, words in ((other, ("share", "--out", share)), (place, ("merge", share))):
        result = run(target, words)
        if result.exit_code != 0:
            return Came(refused=_failure(result), crashed=crash_of(result), told=result.output)
    return Came(told=result.output)


def _by_file(place: Path, cells: dict[str, str], folder: Path) -> Came:
    path = folder / "odd.csv"
    path.write_text(f"{','.join(cells)}\n{','.join(cells.values())}\n", encoding="utf-8")
    result = run(place, ("points", "import", str(path)))
    return Came(refused=_failure(result), crashed=crash_of(result), told=result.output)


def _by_hand(place: Path, odd: dict[str, str], folder: Path) -> Came:
    """Import a usual point and make it odd where nothing looks."""
    came = _by_file(place, dict(USUAL), folder)
    number = newest_point(place)
    with contextlib.closing(sqlite3.connect(place)) as store:
        try:
            for name, cell in odd.items():
                if name == "flown_on":
                    store.execute(
                        "UPDATE sortie SET flown_on = ? WHERE id = (SELECT sortie_id FROM "
                        "calibration_point WHERE id = ?)",
                        (cell, number),
                    )
                else:
                    store.execute(
                        f"UPDATE calibration_point SET {name} = ? WHERE id = ?",
                        (float(cell), number),
                    )
                if name == "u_kappa":
                    store.execute(
                        "UPDATE uncertainty_term SET u_kappa = ? WHERE calibration_point_id = ?",
                        (float(cell), number),
                    )
            store.commit()
        except sqlite3.Error as error:
            return Came(refused=str(error))
    return came


def _failure(result: Result) -> str:
    return "" if result.exit_code == 0 else result.output.strip() or "refused without a word"


def counts_untold(place: Path, came: Came) -> bool:
    """Tell whether the odd point counts and nothing was said of it."""
    with contextlib.closing(sqlite3.connect(place)) as store:
        accepted = store.execute(
            "SELECT accepted FROM calibration_point WHERE id = ?", (newest_point(place),)
        ).fetchone()[0]
    listed = run(place, ("points", "list", "--airframe", TAG, "--format", "json")).output
    barred = f"point {newest_point(place)} of sortie" in listed
    return bool(accepted) and not barred and "Warning" not in came.told


def judge(
    place: Path, way: str, odd: dict[str, str], came: Came, answered: set[tuple[str, ...]]
) -> Counter[str]:
    """Return what was wrong, counted, with a line printed for each."""
    wrong: Counter[str] = Counter()
    shown = ", ".join(f"{name} {cell}" for name, cell in odd.items())

    def note(kind: str, words: str) -> None:
        wrong[kind] += 1
        print(f"{kind}: {way}, {shown}: {words}", flush=True)

    if came.crashed:
        note("traceback", came.crashed)
    if came.refused or came.crashed:
        return wrong
    number = str(newest_point(place))
    if way == "file" and counts_untold(place, came):
        note("silent", "counts, and nobody was told")
    for words in COMMANDS:
        asked = tuple(word.replace("{point}", number) for word in words)
        try:
            result = run(place, asked)
        except _HangError:
            note("hang", " ".join(asked))
            continue
        if crash_of(result):
            note("traceback", f"{' '.join(asked)}: {crash_of(result)}")
        elif result.exit_code != 0 and words in answered and not _names(result, number):
            note("unnamed", f"{' '.join(asked)}: {result.output.strip()[:200]}")
    return wrong


def _names(result: Result, number: str) -> bool:
    """Tell whether a message names the point, or lists it among the faults of the store."""
    if re.search(r"The store has \d+ faults?", result.output):
        return True
    return re.search(rf"\bpoints? (\d+, )*{number}\b", result.output) is not None


def attack(ways: tuple[str, ...], odd: tuple[dict[str, str], ...]) -> Counter[str]:
    """Bring in every odd point in every way and return what was counted."""
    found: Counter[str] = Counter()
    with tempfile.TemporaryDirectory(prefix="fleetcal-odd-") as scratch:
        begun, answered = _sound()
        for way in ways:
            for number, one in enumerate(odd):
                folder = Path(scratch, f"{way} {number}")
                folder.mkdir()
                place = Path(shutil.copy(begun, folder / "store.sqlite3"))
                with contextlib.chdir(folder):
                    try:
                        came = bring_in(place, one, way, folder)
                    except _HangError:
                        came = Came(crashed="hang")
                    found += judge(place, way, one, came, answered)
                found["brought in"] += 1
                found["refused"] += bool(came.refused)
                shutil.rmtree(folder)
    return found


@cache
def _sound() -> tuple[Path, set[tuple[str, ...]]]:
    """Return a store without an odd point, and the commands that answer there."""
    folder = Path(tempfile.mkdtemp(prefix="fleetcal-sound-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    begun = begin(folder)
    return begun, {words for words in COMMANDS if _answers(begun, words, folder)}


def _answers(place: Path, words: tuple[str, ...], folder: Path) -> bool:
    """Tell whether a command answers on the sound store."""
    copy = Path(shutil.copy(place, folder / "sound.sqlite3"))
    asked = tuple(word.replace("{point}", "1") for word in words)
    with contextlib.chdir(folder):
        return run(copy, asked).exit_code == 0


def main() -> None:
    """Print what is wrong and the counts; end in 1 if anything was."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--way", choices=WAYS, action="append")
    parser.add_argument("--column", help="only points that are odd there")
    chosen = parser.parse_args()
    odd = tuple(one for one in ODD if chosen.column is None or chosen.column in one)
    found = attack(tuple(chosen.way or WAYS), odd)
    kinds = ("traceback", "hang", "unnamed", "silent")
    print(
        f"{found['brought in']} odd points, {found['refused']} refused; "
        + ", ".join(f"{kind}: {found[kind]}" for kind in kinds)
    )
    raise SystemExit(any(found[kind] for kind in kinds))


if __name__ == "__main__":
    main()
