"""How often a flight that is stored is taken for another one, and another one for it.

``python -m tests.attacks.same_flight [FLIGHTS]`` keeps each of some invented flights (4 if no
number is given) in a store of its own and gives it to every way in again, in other files:
recognised is a refusal that names the sortie. Then as many flights of one airframe on one day and
in one wind are kept, logged and typed by hand: refused is one of them taken for another.
Seeds are fixed. Logs flown without legs are judged by their points.
"""

from __future__ import annotations

import sys
import tempfile
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

from tests.attacks.disguises import LOGS, flown, typed_by_hand
from tests.cli.command_line import Program
from tests.cli.invented_fleet import SMALL_GROUP, fleet_toml
from tests.cli.invented_glides import GLIDE
from tests.cli.invented_glides import log_text as glide_text
from tests.cli.invented_sortie import log_text

WHO: Final = ("--airframe", "C-01", "--weight-kg", "560")
DAY: Final = ("--date", "2024-05-02")
WRONG_DAY: Final = ("--date", "2024-06-03")
GLIDES: Final = ("--quantity", "glide", "--power-state", "idle")
RECOGNISED, SILENT, ELSE = "recognised", "counted twice", "refused for something else"
KEPT = "kept"


def begun(folder: Path) -> Program:
    """Begin a store with a few airframes."""
    file = folder / "fleet.toml"
    file.write_text(fleet_toml((SMALL_GROUP,)), encoding="utf-8")
    program = Program(str(folder / "fleet.store"))
    program.output("fleet", "load", file)
    return program


def first_tag(program: Program) -> str:
    """Return an airframe of a store."""
    fits: list[dict[str, Any]] = program.json("show", "fleet")["fits"]
    return str(fits[0]["airframe"])


def outcome(program: Program, *words: object) -> str:
    """Return what becomes of a flight that is stored already."""
    done = program.run(*words)
    if done.exit_code == 0:
        return SILENT
    is_named = "stored already, as sortie 1" in done.stderr or "as point" in done.stderr
    return RECOGNISED if is_named and done.exit_code in (3, 34) else ELSE


def rounded(text: str, decimals: int) -> str:
    """Return a file of points as somebody types it from a page: few columns, few digits."""
    heading, *rows = (line.split(",") for line in text.splitlines())
    names = ("airframe", "flown_on", "weight_kg", "vic_kt", "pressure_altitude_ft")
    kept = (*names, "dvpc_kt", "u_dvpc_kt")
    out = [",".join(kept)]
    for row in rows:
        cells = dict(zip(heading, row, strict=True))
        numbers = (f"{float(cells['pressure_altitude_ft']):.0f}",)
        small = (f"{float(cells[name]):.{decimals}f}" for name in kept[5:])
        speed = f"{float(cells['vic_kt']):.1f}"
        out.append(",".join([*(cells[name] for name in names[:3]), speed, *numbers, *small]))
    return "\n".join(out) + "\n"


def of_a_log(seed: int) -> Iterator[tuple[str, str]]:
    """Yield what became of each disguise of a log."""
    for by in ("legs", "flight"):
        with tempfile.TemporaryDirectory() as name:
            folder = Path(name)
            program = begun(folder)
            who = ("--airframe", first_tag(program), *WHO[2:], "--solve-by", by)
            text = log_text(flown(seed))
            (folder / "first.csv").write_text(text)
            program.output("reduce", folder / "first.csv", *who)
            for disguise, (file, made) in LOGS.items():
                (folder / file).write_bytes(made(text))
                day = WRONG_DAY if by == "legs" else DAY
                words = (*who, *day) if "without a day" in disguise else who
                what = disguise if by == "legs" else f"solved without legs, {disguise}"
                yield what, outcome(program, "reduce", folder / file, *words)
                restored(program)
            if by == "legs":
                yield from of_typed(program, folder, who)


def restored(program: Program) -> None:
    """Take back what was stored beside the first flight."""
    while sorties(program) > 1:
        program.output("undo")


def sorties(program: Program) -> int:
    """Return how many sorties are stored."""
    return len({point["sortie_id"] for point in program.json("points", "list")["points"]})


def of_typed(program: Program, folder: Path, who: tuple[str, ...]) -> Iterator[tuple[str, str]]:
    """Yield what became of legs and points that were typed from what is stored."""
    legs = program.json("reduce", folder / "first.csv", "--preview")["legs"]
    sheet = folder / "sheet.csv"
    for what, in_mph in (("legs typed in whole knots", False), ("in whole mph", True)):
        sheet.write_text(typed_by_hand(legs, in_mph=in_mph))
        yield what, outcome(program, "reduce", sheet, *who, *DAY)
        restored(program)
    points = folder / "points.csv"
    exact = program.output("points", "list", "--out", "-")
    for what, text in (
        ("its points imported", exact),
        ("its points, saved anew", exact.replace("\n", "\r\n")),
        ("its points with two decimals", rounded(exact, 2)),
        ("its points with one decimal", rounded(exact, 1)),
    ):
        points.write_bytes(text.encode())
        yield what, outcome(program, "points", "import", points)
        restored(program)


def of_climbs(seed: int) -> Iterator[tuple[str, str]]:
    """Yield what became of glides in other files."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        program = begun(folder)
        who = ("--airframe", first_tag(program), "--weight-kg", "600", *GLIDES)
        text = glide_text(GLIDE, seed=seed)
        (folder / "first.csv").write_text(text)
        program.output("reduce", folder / "first.csv", *who)
        for disguise in ("gzip", "CRLF", "first 90 %"):
            file, made = LOGS[disguise]
            (folder / file).write_bytes(made(text))
            found = outcome(program, "reduce", folder / file, *who)
            yield f"glides, {disguise}", found
            if found == SILENT:
                program.output("undo")


def others(flights: int) -> Iterator[tuple[str, str]]:
    """Yield whether other flights of one day and wind are taken for each other."""
    for what, by, typed in (
        ("another flight that day", "legs", False),
        ("another flight that day, typed", "legs", True),
        ("another flight that day, solved without legs", "flight", False),
    ):
        with tempfile.TemporaryDirectory() as name:
            folder = Path(name)
            program = begun(folder)
            who = ("--airframe", first_tag(program), *WHO[2:], "--solve-by", by)
            for seed in range(flights):
                file = folder / f"{seed}.csv"
                file.write_text(log_text(flown(100 + seed)))
                if typed:
                    legs = program.json("reduce", file, "--preview")["legs"]
                    file.write_text(typed_by_hand(legs))
                done = program.run("reduce", file, *who, *DAY)
                yield what, KEPT if done.exit_code == 0 else "refused"


def table(flights: int) -> dict[str, Counter[str]]:
    """Return the outcomes of each kind of trial."""
    found: dict[str, Counter[str]] = {}
    for seed in range(1, flights + 1):
        for what, became in (*of_a_log(seed), *of_climbs(seed)):
            found.setdefault(what, Counter())[became] += 1
    for what, became in others(2 * flights):
        found.setdefault(what, Counter())[became] += 1
    return found


def print_table(found: dict[str, Counter[str]]) -> int:
    """Print the outcomes; return 1 if a flight was counted twice, or another one refused."""
    for what, counts in found.items():
        print(f"{what:48} {', '.join(f'{n} {word}' for word, n in sorted(counts.items()))}")
    total = sum(found.values(), Counter[str]())
    right = total[RECOGNISED] + total[KEPT]
    print(f"{total.total()} trials, {right} right, {total[SILENT]} counted twice")
    return int(right < total.total())


if __name__ == "__main__":
    sys.exit(print_table(table(int(sys.argv[1]) if len(sys.argv) > 1 else 4)))
