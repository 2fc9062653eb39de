"""Many kills of many commands on one engine, and the table of what came of them."""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np

from fleetcal.publish.published_files import table_contents
from fleetcal.services.publishing import issues
from tests.begun_once import begin_once
from tests.compiled_once import compile_once

from .judging import (
    Known,
    copies_beside,
    faults_of,
    files_in,
    state_of,
    wait_until_nobody_is_there,
    wrong_with_copies,
    wrong_with_files,
    wrong_with_state,
)
from .killing import STEPS, Ended, Moment, run_and_kill, run_to_the_end
from .operations import BY_NAME, Bench, Operation, begin_output, run_words, write_inputs
from .places import Places

_MEASURED_RUNS = 3
#: Share of the kills that are spread over each stretch: from a step, to a step.
_STRETCHES = (
    ("started", "acknowledged", 0.30),
    ("begun", "keeping", 0.35),
    ("keeping", "kept", 0.25),
    ("kept", "acknowledged", 0.10),
)


@dataclass(kw_only=True)
class Tally:
    """What came of the kills of one operation on one engine."""

    engine: str
    operation: str
    kills: int = 0
    reached: dict[str, int] = field(default_factory=lambda: dict.fromkeys(STEPS, 0))
    moments_s: list[float] = field(default_factory=list)
    length_s: float = 0.0
    whole: int = 0
    finished: int = 0
    unfinished: int = 0
    kept: int = 0
    absent: int = 0
    either: int = 0
    again: int = 0
    leftovers: int = 0
    wrong: list[str] = field(default_factory=list)


class Drawings:
    """Contents of published files, drawn once: kills fall on what is done with them.

    Drawing takes seconds and touches neither store nor disk.
    """

    def __init__(self) -> None:
        self._made: dict[str, dict[str, bytes]] = {}

    def contents(self, table: Any, *arguments: Any, **named: Any) -> dict[str, bytes]:
        """As `table_contents`, from memory the second time."""
        key = repr((table, arguments, named))
        if key not in self._made:
            self._made[key] = table_contents(table, *arguments, **named)
        return self._made[key]

    @contextlib.contextmanager
    def used(self) -> Iterator[None]:
        """Let issues take them from here."""
        issues.table_contents = self.contents  # type: ignore[attr-defined]
        try:
            yield
        finally:
            issues.table_contents = table_contents  # type: ignore[attr-defined]


class Campaign:
    """Kills on one engine.

    Args:
        folder: For input files, output and words of commands.
    """

    def __init__(self, places: Places, folder: Path) -> None:
        self._places = places
        self._folder = folder
        self._bench = Bench(folder / "inputs", places)
        self._drawings = Drawings()
        self._originals: dict[Any, str] = {}
        write_inputs(self._bench.inputs)

    def kill_many(self, name: str, kills: int, seed: int) -> Tally:
        """Kill one command again and again, each time on a fresh copy of its store."""
        operation = BY_NAME[name]
        original = self._original(operation)
        known = self._known(operation, original)
        lengths = self._lengths(operation, original)
        tally = Tally(engine=self._places.engine, operation=name, length_s=lengths["acknowledged"])
        rng = np.random.default_rng(seed)
        for moment in moments(lengths, kills, rng):
            self._one_kill(operation, original, known, moment, tally)
        while tally.kills < kills:  # some were quicker than the signal
            moment = Moment("begun", float(rng.random() * _stretch(lengths, "begun", "keeping")))
            self._one_kill(operation, original, known, moment, tally)
        return tally

    def _original(self, operation: Operation) -> str:
        if operation.original not in self._originals:
            self._originals[operation.original] = operation.original(self._bench)
        return self._originals[operation.original]

    @property
    def _output(self) -> Path:
        return self._folder / "output"

    def _deed(self, operation: Operation, place: str) -> Any:
        words = operation.words(self._bench.inputs, self._output)

        def deed() -> None:
            with self._drawings.used():
                run_words(place, words)

        return deed

    def _known(self, operation: Operation, original: str) -> Known:
        """Let the command finish once, and keep what is there before and after."""
        before = state_of(original)
        place = self._places.copy(original)
        begin_output(self._output)
        old_files = files_in(self._output)
        with contextlib.redirect_stdout(None), contextlib.redirect_stderr(None):
            self._deed(operation, place)()
        known = Known(before, state_of(place), old_files, files_in(self._output))
        self._places.discard(place)
        if known.after == before:
            raise AssertionError(f"{operation.name} changed nothing: nothing would be shown")
        return known

    def _lengths(self, operation: Operation, original: str) -> dict[str, float]:
        """Return the median time of each step over a few runs that nobody kills."""
        runs = []
        for _ in range(_MEASURED_RUNS):
            place = self._places.copy(original)
            begin_output(self._output)
            ended = run_to_the_end(self._deed(operation, place), self._folder / "words")
            if ended.last != "acknowledged":
                raise AssertionError(f"{operation.name} fails unkilled: {ended.said}")
            runs.append(ended.reached)
            self._places.discard(place)
        return {step: float(np.median([run[step] for run in runs])) for step in STEPS}

    def _one_kill(
        self, operation: Operation, original: str, known: Known, moment: Moment, tally: Tally
    ) -> None:
        place = self._places.copy(original)
        begin_output(self._output)
        deed = self._deed(operation, place)
        ended = run_and_kill(deed, self._folder / "words", moment)
        if ended.killed_at_s is None and ended.exit_status != 0:
            tally.wrong.append(f"the command failed by itself: {ended.said}")
        if ended.killed_at_s is not None:
            tally.kills += 1
            tally.reached[ended.last] += 1
            tally.moments_s.append(ended.killed_at_s)
            self._judge(operation, place, known, ended, deed, tally)
        self._places.discard(place)

    def _judge(
        self,
        operation: Operation,
        place: str,
        known: Known,
        ended: Ended,
        deed: Any,
        tally: Tally,
    ) -> None:
        wrong = [] if operation.opening_changes else faults_of(place)
        wait_until_nobody_is_there(place)
        done, contradicted = wrong_with_state(known, state_of(place), ended.last)
        wrong += contradicted
        if operation.opening_changes:
            wrong += faults_of(place)
            wrong += wrong_with_copies(place, known)
        if operation.publishes:
            wrong += wrong_with_files(known, files_in(self._output), done, ended.last)
        tally.leftovers += self._leftovers(place)
        if not wrong:
            _count(tally, ended.last, done)
        again = self._wrong_again(operation, place, known, deed, done)
        tally.again += not again
        told = f"{operation.name} killed at {ended.killed_at_s:.4f} s, {ended.last}: "
        tally.wrong += [told + one for one in wrong + again]

    def _wrong_again(
        self, operation: Operation, place: str, known: Known, deed: Any, done: bool
    ) -> list[str]:
        """Run the same command once more and tell what is wrong then."""
        ended = run_to_the_end(deed, self._folder / "words")
        if ended.exit_status != 0:
            return [f"the same command fails when it is run again: {ended.said}"]
        wrong = [f"after running it again: {fault}" for fault in faults_of(place)]
        if (operation.repeatable or not done) and state_of(place) != known.after:
            wrong.append("running it again does not give what an undisturbed run gives")
        if operation.publishes and not done and files_in(self._output) != known.new_files:
            wrong.append("running it again does not publish what an undisturbed run publishes")
        return wrong

    def _leftovers(self, place: str) -> int:
        """Count files that nobody asked for, in the output and beside the store.

        SQLite's own journal is none: the next writer uses or removes it.
        """
        left = [p for p in self._output.iterdir() if p.name.startswith(".")]
        if "://" not in place:
            wanted = {Path(place), Path(f"{place}-journal"), *copies_beside(place)}
            left += [p for p in Path(place).parent.iterdir() if p not in wanted]
        return len(left)


def _count(tally: Tally, last: str, done: bool) -> None:
    """Count a kill after which all was well."""
    tally.whole += 1
    if last in ("kept", "acknowledged"):
        tally.finished += 1
        tally.kept += done
    elif last in ("started", "begun"):
        tally.unfinished += 1
        tally.absent += not done
    else:
        tally.either += 1


def moments(lengths: Mapping[str, float], kills: int, rng: np.random.Generator) -> Iterator[Moment]:
    """Yield moments spread evenly, each jittered, over the run and over each of its stretches."""
    left = kills
    for number, (begin, end, share) in enumerate(_STRETCHES, 1):
        count = left if number == len(_STRETCHES) else min(left, max(1, round(share * kills)))
        left -= count
        length = _stretch(lengths, begin, end)
        for i in range(count):
            yield Moment(begin, float((i + rng.random()) / count * length))


def _stretch(lengths: Mapping[str, float], begin: str, end: str) -> float:
    return lengths[end] - lengths[begin]


def kill_job(make: Callable[[], Places], folder: Path, name: str, kills: int, seed: int) -> Tally:
    """Do the kills of one operation in a process of its own."""
    compile_once()  # kills fall on what is done with SQL, not on its being compiled
    begin_once()  # nor on a store's being begun
    folder.mkdir(parents=True, exist_ok=True)
    return Campaign(make(), folder).kill_many(name, kills, seed)
