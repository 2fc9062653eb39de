"""Eight programs write while the machine that leads is killed; then every change is counted."""

from __future__ import annotations

import json
import subprocess
import time
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any, Protocol

from tests.sources import ROOT
from tests.store.cluster.worker import OVER, WRITERS

_WORKER = "tests.store.cluster.worker"
#: Commands that have ended when the leader is killed.
_BEFORE = 3 * WRITERS
_NOTICE = "trying again"
_NOT_KNOWN = "could not be found out"


class Cluster(Protocol):
    """An engine of several machines."""

    name: str
    address: str
    python: Path

    def start(self) -> None:
        """Start all of it."""

    def kill_leader(self) -> str:
        """End the machine that leads at once, and return its name."""


@dataclass(kw_only=True)
class Outcome:
    """What became of the commands.

    Attributes:
        killed: The machine that led.
        waited: Acknowledged commands that said that they tried again.
        longest_s: Of any command.
        wrong: Sentences; none if all is well.
    """

    engine: str
    killed: str = ""
    acknowledged: int = 0
    kept: int = 0
    refused: int = 0
    not_known: int = 0
    waited: int = 0
    after: int = 0
    longest_s: float = 0.0
    refusals: Counter[str] = field(default_factory=Counter)
    wrong: list[str] = field(default_factory=list)


def campaign(cluster: Cluster, seconds: float) -> Outcome:
    """Let programs write, kill the leader once each has written, and go on for so long."""
    cluster.start()
    outcome = Outcome(engine=cluster.name)
    with TemporaryDirectory(prefix="fleetcal-writers-") as name:
        folder = Path(name)
        _worker(cluster, "begin", name).check_returncode()
        writers = [
            subprocess.Popen([*_words(cluster, "write"), name, str(number)], cwd=ROOT)
            for number in range(1, WRITERS + 1)
        ]
        while len(_lines(folder)) < _BEFORE and all(one.poll() is None for one in writers):
            time.sleep(0.2)
        outcome.killed = cluster.kill_leader()
        before = len(_lines(folder))
        time.sleep(seconds)
        (folder / OVER).touch()
        for writer in writers:
            if writer.wait():
                outcome.wrong.append("a writer ended by itself")
        lines = list(_lines(folder))
        found = json.loads(_worker(cluster, "found").stdout)
    outcome.after = len(lines) - before
    _judge(outcome, lines, found)
    return outcome


def _judge(outcome: Outcome, lines: list[dict[str, Any]], found: dict[str, int]) -> None:
    for line in lines:
        count, key = found.pop(line["key"], 0), line["key"]
        outcome.longest_s = max(outcome.longest_s, line["took_s"])
        if line["code"] == 0:
            outcome.acknowledged += 1
            outcome.kept += count == 1
            outcome.waited += _NOTICE in line["said"]
            if count != 1:
                outcome.wrong.append(f"{key} was acknowledged and is there {count} times")
            continue
        outcome.refused += 1
        outcome.refusals[_sentence(line["said"])] += 1
        outcome.not_known += _NOT_KNOWN in line["said"]
        if count > (_NOT_KNOWN in line["said"]):
            outcome.wrong.append(f"{key} was refused and is there {count} times")
    outcome.wrong += [f"{key} is there and was never written" for key in found]


def _lines(folder: Path) -> list[dict[str, Any]]:
    texts = [path.read_text(encoding="utf-8") for path in sorted(folder.glob("writer-*.jsonl"))]
    return [json.loads(line) for text in texts for line in text.splitlines()]


def _sentence(said: str) -> str:
    errors = [line for line in said.splitlines() if line.startswith("Error")]
    return (errors or said.splitlines() or [""])[0][:160]


def _words(cluster: Cluster, act: str) -> list[str]:
    return [str(cluster.python), "-m", _WORKER, act, cluster.address]


def _worker(cluster: Cluster, act: str, *more: str) -> subprocess.CompletedProcess[str]:
    words = [*_words(cluster, act), *more]
    return subprocess.run(words, cwd=ROOT, stdout=subprocess.PIPE, text=True, check=True)


def told(outcome: Outcome) -> list[str]:
    """Return the outcome as lines of a table."""
    return [
        f"{'engine':<10}{'acknowledged':>14}{'kept':>8}{'refused':>9}{'not known':>11}"
        f"{'waited':>8}{'after kill':>12}{'longest s':>11}",
        f"{outcome.engine:<10}{outcome.acknowledged:>14}{outcome.kept:>8}{outcome.refused:>9}"
        f"{outcome.not_known:>11}{outcome.waited:>8}{outcome.after:>12}{outcome.longest_s:>11.1f}",
        f"killed: {outcome.killed}",
        *(f"refused {count} times: {words}" for words, count in outcome.refusals.items()),
        *(f"WRONG: {words}" for words in outcome.wrong),
    ]
