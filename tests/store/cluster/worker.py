"""One of the programs of a campaign: python -m tests.store.cluster.worker begin|write|found.

It runs in a process of its own, and of a Python that the engine's driver runs on.
"""

from __future__ import annotations

import json
import sys
import time
from pathlib import Path

from click.testing import CliRunner
from sqlalchemy import func, select

from fleetcal.cli import main as fleetcal
from fleetcal.store import open_store
from fleetcal.store.models import Airframe, LeakCheck, Sortie, SourceFile

WRITERS = 8
#: File that ends a campaign.
OVER = "over"
_AIRFRAME = """
[[airframe]]
tag = "C-{n:02d}"
type = "{kind}"
[[airframe.fit]]
from = 2015-04-01
static_source = "tail"
engine = "{kind} engine"
propeller = "{kind} propeller"
"""
_TYPE = """
[[type]]
name = "{kind}"
reference_weight_kg = 600
scaling_speed_kt = 45
[[type.static_source]]
name = "tail"
[[engine]]
name = "{kind} engine"
[[propeller]]
name = "{kind} propeller"
"""


def _kind(number: int) -> str:
    return "Corrie 2" if number % 2 else "Lindis 1"


def begin(address: str, folder: Path) -> None:
    """Begin a store of two types, with an airframe for every writer."""
    text = "".join(_TYPE.format(kind=_kind(n)) for n in (1, 2))
    text += "".join(_AIRFRAME.format(n=n, kind=_kind(n)) for n in range(1, WRITERS + 1))
    fleet = folder / "fleet.toml"
    fleet.write_text(text, encoding="utf-8")
    code, said = _run(address, "fleet", "load", str(fleet))
    if code:
        raise RuntimeError(said)


def write(address: str, folder: Path, number: int) -> None:
    """Write until the campaign is over, and note what came of each command."""
    done = 0
    with (folder / f"writer-{number}.jsonl").open("w", encoding="utf-8") as log:
        while not (folder / OVER).exists():
            done += 1
            began = time.monotonic()
            key, words = _deed(folder, number, done)
            code, said = _run(address, *words)
            took = time.monotonic() - began
            line = {"key": key, "kind": words[0], "code": code, "said": said, "took_s": took}
            log.write(json.dumps(line) + "\n")
            log.flush()


def _deed(folder: Path, number: int, done: int) -> tuple[str, tuple[str, ...]]:
    """Return what tells a change from any other, and the command that makes it."""
    tag = f"C-{number:02d}"
    if done % 3:
        loss = f"{done / 1000.0:.3f}"
        leak = ("bench", "enter", "leak", "--airframe", tag, "--date", "2024-05-02")
        return f"{tag} {loss}", (*leak, "--loss-ft", loss)
    name = f"w{number}-{done}.csv"
    day = f"{2000 + done % 20 + 1}-{number:02d}-{done % 28 + 1:02d}"
    rows = "".join(
        f"{tag},{day},600,{70 + 10 * n + done / 100},3000,{0.01 * n + done / 10000},0.007\n"
        for n in range(3)
    )
    text = "airframe,flown_on,weight_kg,vic_kt,pressure_altitude_ft,kappa,u_kappa\n"
    (folder / name).write_text(text + rows.replace(day, f"2016{day[4:]}"), encoding="utf-8")
    return name, ("points", "import", str(folder / name), "--another-flight")


def found(address: str) -> dict[str, int]:
    """Return how often each change is there."""
    code, said = _run(address, "store", "check")
    if code:
        raise RuntimeError(said)
    with open_store(address, create=False) as store, store.reading() as session:
        leaks = select(Airframe.tag, LeakCheck.loss_ft).join(
            Airframe, Airframe.id == LeakCheck.airframe_id
        )
        there = [f"{tag} {loss:.3f}" for tag, loss in session.execute(leaks)]
        files = (
            select(SourceFile.name, func.count())
            .join(Sortie, Sortie.source_file_id == SourceFile.id)
            .group_by(SourceFile.id, SourceFile.name)
        )
        there += [name for name, count in session.execute(files) for _ in range(count)]
    return {key: there.count(key) for key in set(there)}


def _run(address: str, *words: str) -> tuple[int, str]:
    result = CliRunner().invoke(fleetcal, ["--store", address, *words], prog_name="fleetcal")
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        return 1, repr(result.exception)
    return result.exit_code, result.output if result.exit_code else result.stderr


if __name__ == "__main__":
    act, place, *rest = sys.argv[1:]
    if act == "begin":
        begin(place, Path(rest[0]))
    elif act == "write":
        write(place, Path(rest[0]), int(rest[1]))
    else:
        print(json.dumps(found(place)))
