"""Commands killed at random moments.

``python -m tests.store.faults`` does 320.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from sqlalchemy import Connection

import fleetcal.store.engines.sqlite
from tests.store.faults.campaign import Campaign, Tally, moments
from tests.store.faults.judging import Known, wrong_with_files, wrong_with_state
from tests.store.faults.operations import BY_NAME
from tests.store.faults.places import Files
from tests.store.faults.report import kill_all, line_of

# four of each command on each engine, one in every stretch of its run
LEAST_KILLS = 48


def nothing_was_wrong(tally: Tally) -> None:
    assert tally.wrong == []
    assert (tally.whole, tally.again) == (tally.kills, tally.kills)
    assert (tally.kept, tally.absent) == (tally.finished, tally.unfinished)


@pytest.mark.long(minutes=4)  # most of it waits, so it goes beside everything else
def test_a_store_survives_many_kills_on_both_engines(tmp_path: Path) -> None:
    tallies = list(kill_all(tmp_path, ("file", "server"), tuple(BY_NAME), LEAST_KILLS, seed=1))
    for tally in tallies:
        print(line_of(tally))
        nothing_was_wrong(tally)
    assert sum(tally.kills for tally in tallies) >= LEAST_KILLS
    inside = sum(tally.reached["begun"] + tally.reached["keeping"] for tally in tallies)
    assert inside > LEAST_KILLS / 3
    for engine in ("file", "server"):
        own = [tally for tally in tallies if tally.engine == engine]
        for step in ("started", "begun", "keeping", "kept"):
            assert sum(tally.reached[step] for tally in own) > 0, (engine, step)


@pytest.mark.long
def test_a_program_without_transactions_does_not_pass(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def without_begin(connection: Connection, _: float) -> None:
        connection.exec_driver_sql("PRAGMA synchronous=OFF")  # or each of many waits for the disk

    monkeypatch.setattr(fleetcal.store.engines.sqlite, "begin_writing", without_begin)
    tally = Campaign(Files(tmp_path), tmp_path).kill_many("merge", 3, seed=1)
    assert tally.whole < tally.kills
    assert any("neither as before nor as after" in told for told in tally.wrong)


KNOWN = Known({"t": ["1"]}, {"t": ["1", "2"]}, {"a": b"old"}, {"a": b"new"})


@pytest.mark.parametrize(
    ("state", "last", "said"),
    [
        (KNOWN.before, "kept", "is gone"),
        (KNOWN.before, "acknowledged", "is gone"),
        (KNOWN.after, "started", "never told"),
        (KNOWN.after, "begun", "never told"),
        ({"t": ["2"]}, "keeping", "neither"),
        ({"t": ["1"], "u": []}, "begun", "neither"),
    ],
)
def test_the_judge_sees_what_contradicts_how_far_a_command_got(
    state: dict[str, list[str]], last: str, said: str
) -> None:
    assert said in wrong_with_state(KNOWN, state, last)[1][0]


@pytest.mark.parametrize("last", ["keeping", "begun"])
def test_the_judge_lets_pass_what_may_be(last: str) -> None:
    assert wrong_with_state(KNOWN, KNOWN.before, last) == (False, [])
    assert wrong_with_state(KNOWN, KNOWN.after, "keeping") == (True, [])


@pytest.mark.parametrize(
    ("found", "done", "last", "said"),
    [
        ({"a": b"ne"}, True, "kept", "neither the old nor the new"),
        ({}, True, "kept", "neither the old nor the new"),
        ({"a": b"new"}, False, "begun", "does not know"),
        ({"a": b"old"}, True, "acknowledged", "though the issue was acknowledged"),
        ({"a": b"old", "b": b""}, True, "kept", "not one of the files"),
    ],
)
def test_the_judge_sees_what_is_wrong_with_files(
    found: dict[str, bytes], done: bool, last: str, said: str
) -> None:
    assert said in wrong_with_files(KNOWN, found, done, last)[0]


def test_moments_are_spread_over_the_run_and_over_the_commit() -> None:
    lengths = {"started": 0.0, "begun": 1.0, "keeping": 2.0, "kept": 2.1, "acknowledged": 2.2}
    drawn = list(moments(lengths, 40, np.random.default_rng(1)))
    assert len(drawn) == 40
    whole = sorted(moment.delay_s for moment in drawn if moment.step == "started")
    assert max(np.diff(whole)) < 2.2 * 2 / len(whole)
    in_commit = [moment.delay_s for moment in drawn if moment.step == "keeping"]
    assert len(in_commit) == 10
    assert 0.0 <= min(in_commit) < 0.02 < 0.08 < max(in_commit) <= 0.1
