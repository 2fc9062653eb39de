"""Files that nobody should have to read: logs, TOML and tables, changed at random and by design.

``python -m tests.attacks.files [TRIALS]`` prints a line for each kind of file: how many trials,
how many ended in a traceback, in more than 10 s of work or 60 s of waiting (a hang), or in silence
though what came out was wrong. TRIALS is how many random changes each file gets, 40 if none is
given. Seeds are fixed.

Silently wrong is a log whose correction moves by more than 1 kt, and a description or table with a
number that is none, if the command succeeds and says nothing of it.
"""

from __future__ import annotations

import json
import signal
import sys
import tempfile
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from types import FrameType
from typing import Any, Final

import numpy as np
from click.testing import CliRunner, Result

from fleetcal.cli import main
from tests.attacks.disguises import LOGS, flown
from tests.attacks.odd_files import odd_logs, odd_tables, odd_toml, special_files
from tests.cli.invented_fleet import SMALL_GROUP, fleet_toml
from tests.cli.invented_sortie import log_text
from tests.flightlog.corpus.damage import damaged

LONGEST_S: Final = 10
#: That nothing takes on the busiest machine, if it is not waiting for something.
WAITED_S: Final = 60
MOVED_KT: Final = 1.0
FINE, TRACEBACK, HANG, SILENT = "explained or done", "traceback", "hang", "silently wrong"
#: What somebody may write in a cell or behind a key.
ODD_VALUES: Final = (
    *("", "nan", "inf", "-inf", "1e999", "-1e999", "0", "-1", "1e-320", "true", "text", "\x1b[31m"),
    *("=1+1", "9" * 400, "1,5", "1.5.5", "0x10", "\u0663", "2999-01-01", "\x00", '"', "'" * 50),
)
NO_NUMBERS: Final = ("nan", "inf", "-inf", "1e999", "-1e999", "true", "text", "1.5.5", "=1+1")
POINTS: Final = (
    "airframe,flown_on,weight_kg,vic_kt,pressure_altitude_ft,dvpc_kt,u_dvpc_kt,flap_setting\n"
    "{tag},2019-07-01,600,100.5,3000,2.5,0.5,up\n"
    "{tag},2019-07-01,590,80.5,3500,-1.5,0.75,up\n"
)
MAPPING: Final = 'indicated_airspeed = { column = "IAS (kt)", unit = "kt" }\npart = 1\n'


class TooLongError(Exception):
    """A command that goes on for more than `LONGEST_S`."""


@dataclass
class Tried:
    """What came of the trials of one kind of file."""

    counts: Counter[str] = field(default_factory=Counter)
    worst: list[str] = field(default_factory=list)

    def note(self, outcome: str, what: str) -> None:
        """Count a trial, and name it if something was wrong."""
        self.counts[outcome] += 1
        if outcome != FINE:
            self.worst.append(f"{outcome}: {what}")


@dataclass(frozen=True)
class Desk:
    """A folder with a store, where commands are tried."""

    folder: Path
    store: str

    def run(self, *words: object) -> Result | str:
        """Run a command; return `TRACEBACK` or `HANG` if it ended so."""
        arguments = ["--store", self.store, *(str(word) for word in words)]
        with _ended_in_time():
            result = CliRunner().invoke(main, arguments, prog_name="fleetcal")
        fault = result.exception
        if isinstance(fault, TooLongError):
            return HANG
        if fault is not None and not isinstance(fault, SystemExit):
            return f"{TRACEBACK} {type(fault).__name__}: {str(fault)[:100]}"
        return result

    def write(self, name: str, content: bytes) -> Path:
        """Write a file, whatever lay there before."""
        path = self.folder / name
        path.write_bytes(content)
        return path


@contextmanager
def _ended_in_time() -> Iterator[None]:
    """End a block after `LONGEST_S` of processor time, or if it waits for ever."""
    kinds = ((signal.SIGPROF, signal.ITIMER_PROF), (signal.SIGALRM, signal.ITIMER_REAL))
    before = [signal.signal(number, _too_long) for number, _ in kinds]
    try:
        for (_, timer), seconds in zip(kinds, (LONGEST_S, WAITED_S), strict=True):
            signal.setitimer(timer, seconds)
        yield
    finally:
        for (number, timer), handler in zip(kinds, before, strict=True):
            signal.setitimer(timer, 0)
            signal.signal(number, handler)


def _too_long(number: int, frame: FrameType | None) -> None:
    raise TooLongError


def desk(folder: Path) -> Desk:
    """Make a desk with a fleet."""
    place = Desk(folder, str(folder / "fleet.store"))
    file = place.write("fleet.toml", fleet_toml((SMALL_GROUP,)).encode())
    done = place.run("fleet", "load", file)
    assert isinstance(done, Result)
    assert done.exit_code == 0, done.output
    return place


def judged(ended: Result | str, is_wrong: Callable[[Result], bool]) -> str:
    """Return how a trial ended."""
    if isinstance(ended, str):
        return HANG if ended == HANG else TRACEBACK
    return SILENT if ended.exit_code == 0 and not ended.stderr and is_wrong(ended) else FINE


def always(is_wrong: bool) -> Callable[[Result], bool]:
    """Return a judgement that does not depend on what was printed."""
    return lambda result: is_wrong


def corrections(result: Result) -> list[tuple[float, float]]:
    """Return airspeed and correction of each run that is accepted."""
    runs: list[dict[str, Any]] = json.loads(result.stdout)["runs"]
    return [(run["vic_kt"], run["dvpc_kt"]) for run in runs if run["accepted"]]


def try_logs(place: Desk, tried: Tried, trials: int) -> None:
    """Try logs in disguise, odd by design, damaged at random, and what is no file at all."""
    text = log_text(flown(1))
    first = place.run("reduce", place.write("log.csv", text.encode()), "--format", "json")
    assert isinstance(first, Result)
    truth = dict(corrections(first))

    def moved(result: Result) -> bool:
        return any(
            abs(dvpc - truth[min(truth, key=lambda known: abs(known - vic))]) > MOVED_KT
            for vic, dvpc in corrections(result)
        )

    rng = np.random.default_rng(20)
    short = text[:60000].encode()
    files = [(f"disguise: {what}", name, made(text)) for what, (name, made) in LOGS.items()]
    files += [(f"odd: {what}", name, content) for what, name, content in odd_logs(text)]
    files += [(f"damaged {n}", "log.csv", damaged(short, rng)) for n in range(trials)]
    files += [(f"cells {n}", "log.csv", _odd_cells(text, rng)) for n in range(trials)]
    for what, name, content in files:
        path = place.write(name, content)
        for words in (("columns", path), ("reduce", path, "--format", "json")):
            is_wrong = moved if words[0] == "reduce" else always(False)
            tried.note(judged(place.run(*words), is_wrong), f"{words[0]}, {what}")
    with special_files(place.folder) as paths:
        for path in paths:
            for words in (("columns", path), ("reduce", path)):
                tried.note(judged(place.run(*words), always(True)), f"{words[0]}, {path}")


def _odd_cells(text: str, rng: np.random.Generator) -> bytes:
    """Put one odd value into a tenth of the cells of one column, or in place of one heading."""
    lines = [line.split(",") for line in text.splitlines()]
    column = int(rng.integers(len(lines[0])))
    value = str(rng.choice(ODD_VALUES))
    if rng.random() < 0.2:
        lines[0][column] = value
    else:
        for row in rng.choice(len(lines) - 1, size=len(lines) // 10, replace=False):
            lines[1 + row][column] = value
    return "\n".join(map(",".join, lines)).encode()


def try_toml(place: Desk, tried: Tried, trials: int) -> None:
    """Try settings, mappings and descriptions of a fleet, key by key and odd by design."""
    log = place.write("log.csv", log_text(flown(1)).encode())
    printed = place.run("settings")
    assert isinstance(printed, Result)
    kinds = (
        ("settings", printed.stdout, lambda path: ("settings", path)),
        ("mapping", MAPPING, lambda path: ("reduce", log, "--mapping", path)),
        ("fleet", fleet_toml((SMALL_GROUP,)), lambda path: ("fleet", "load", path)),
    )
    rng = np.random.default_rng(21)
    for kind, text, words in kinds:
        changed = [*_changed_keys(text, rng, trials), *odd_toml(text)]
        for what, content, is_wrong in changed:
            path = place.write(f"{kind}.toml", content)
            ended = judged(place.run(*words(path)), always(is_wrong))
            tried.note(ended, f"{kind}: {what}")
        with special_files(place.folder) as paths:
            for path in paths:
                ended = judged(place.run(*words(path)), always(True))
                tried.note(ended, f"{kind}: {path}")


def _changed_keys(
    text: str, rng: np.random.Generator, trials: int
) -> Iterator[tuple[str, bytes, bool]]:
    """Yield a TOML file with one value changed; whether it can not be right."""
    lines = text.splitlines()
    keys = [i for i, line in enumerate(lines) if "=" in line and not line.startswith("#")]
    none = ("nan", "inf", "-inf", "1e999", "true", "[]", "{}")
    values = (*none, "-1", '"x"', "9" * 400, "1979-01-01")
    for _ in range(trials):
        place = int(rng.choice(keys))
        value = str(rng.choice(values))
        name = lines[place].partition("=")[0].strip()
        was_number = lines[place].partition("=")[2].strip()[:1].isdigit()
        changed = [*lines[:place], f"{name} = {value}", *lines[place + 1 :]]
        is_wrong = was_number and value in none
        yield f"{name} = {value[:20]}", "\n".join(changed).encode(), is_wrong


def tables(tag: str) -> Iterator[tuple[str, str, Callable[[Path], tuple[object, ...]]]]:
    """Yield every table that people give: its name, an example, and the command that reads it."""
    from fleetcal.services.measurements.measurement_columns import TECHNIQUE_FILES

    yield "points", POINTS.format(tag=tag), lambda path: ("points", "import", path)
    for technique, file in TECHNIQUE_FILES.items():
        yield (
            technique,
            file.example,
            partial(_measured, technique),
        )
    who = ("--airframe", tag, "--date", "2024-03-01")
    yield (
        "airspeed check",
        "indicated_kt,correction_kt\n60.5,0.5\n90,0\n",
        lambda path: ("bench", "enter", "airspeed", path, *who, "--u-kt", "0.5"),
    )
    yield (
        "altimeter check",
        "indicated_ft,correction_ft\n0,10\n3000,-5.5\n",
        lambda path: ("bench", "enter", "altimeter", path, *who, "--u-ft", "10"),
    )
    yield (
        "handbook",
        "ias_kt,cas_kt\n60.5,61\n80,80.25\n",
        lambda path: ("handbook", "enter", path, "--name", "first"),
    )
    yield (
        "fleet sheet",
        f"airframe,type,static_source,engine,propeller\n{tag}-9,Kite,nose,four,two\n",
        lambda path: ("fleet", "load", path),
    )
    yield (
        "legs by hand",
        "run,ias_kt,pressure_altitude_ft,oat_degc,ground_speed_kt,track_deg\n"
        "1,97,4500,8,107,42\n1,98,4500,8,115,123\n1,98,4500,8,99,208\n1,97,4500,8,90,308\n",
        lambda path: ("reduce", path),
    )
    yield (
        "powers",
        "point,power_pct,basis\n1,65.5,actual\n",
        lambda path: ("power", "--file", path),
    )


def _measured(technique: str, path: Path) -> tuple[object, ...]:
    return ("measure", technique, path, "--preview")


def try_tables(place: Desk, tried: Tried, trials: int) -> None:
    """Try every table that people give: one cell changed, and odd by design."""
    shown = place.run("show", "fleet", "--format", "json")
    assert isinstance(shown, Result)
    tag = json.loads(shown.stdout)["fits"][0]["airframe"]
    rng = np.random.default_rng(22)
    for kind, text, words in tables(tag):
        rows = [line.split(",") for line in text.splitlines()]
        for _ in range(trials):
            row, column = (int(rng.integers(n)) for n in (len(rows), len(rows[0])))
            value = str(rng.choice(ODD_VALUES))
            changed = [[*cells] for cells in rows]
            was_number = changed[row][column].replace(".", "").lstrip("-").isdigit()
            changed[row][column] = value
            is_name = rows[0][column] == "run"  # which may be called anything
            is_wrong = was_number and value in NO_NUMBERS and not is_name
            content = "\n".join(map(",".join, changed)).encode()
            path = place.write("table.csv", content)
            ended = judged(place.run(*words(path)), always(is_wrong))
            tried.note(ended, f"{kind}: line {row + 1}, column {column + 1}: {value[:20]!r}")
        for what, content in odd_tables(text):
            path = place.write("table.csv", content)
            tried.note(judged(place.run(*words(path)), always(False)), f"{kind}: {what}")
        with special_files(place.folder) as paths:
            for path in paths:
                ended = judged(place.run(*words(path)), always(True))
                tried.note(ended, f"{kind}: {path}")


KINDS: Final = {"logs": try_logs, "TOML": try_toml, "tables": try_tables}


def tried_all(trials: int) -> dict[str, Tried]:
    """Try every kind of file."""
    found = {}
    for kind, attempt in KINDS.items():
        found[kind] = Tried()
        with tempfile.TemporaryDirectory() as folder:
            attempt(desk(Path(folder)), found[kind], trials)
    return found


def print_table(found: dict[str, Tried]) -> int:
    """Print what came of the trials; return 1 if anything was wrong."""
    worst = [f"{kind}: {what}" for kind, tried in found.items() for what in tried.worst]
    print("\n".join(worst))
    print(f"{'files':10} {'trials':>7} {TRACEBACK:>10} {HANG:>6} {SILENT:>15}")
    total = sum((tried.counts for tried in found.values()), Counter[str]())
    for kind, counts in {**{k: t.counts for k, t in found.items()}, "all": total}.items():
        numbers = f"{counts[TRACEBACK]:>10} {counts[HANG]:>6} {counts[SILENT]:>15}"
        print(f"{kind:10} {counts.total():>7} {numbers}")
    return int(bool(worst))


if __name__ == "__main__":
    sys.exit(print_table(tried_all(int(sys.argv[1]) if len(sys.argv) > 1 else 40)))
