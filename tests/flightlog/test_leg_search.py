"""Legs of random flights, smooth and rough, found where they were flown and nowhere else."""

from __future__ import annotations

import numpy as np
import pytest

from tests.flightlog.corpus.leg_search import Score, search


def judge(score: Score) -> None:
    """Hold the search to its promises."""
    assert score.found >= 0.98 * score.flown, (score.found, score.flown)
    assert score.false == 0
    # a few ends of legs reach into the gentle begin of a manoeuvre; the rest keep clear of it
    assert score.touching <= 0.01 * score.found
    assert score.mixed == 0
    assert score.solved >= 0.98 * score.solvable > 0
    assert abs(np.mean(score.starts_s)) < 5.0
    assert abs(np.mean(score.ends_s)) < 5.0
    assert np.mean(np.abs(score.starts_s)) < 5.0
    assert np.mean(np.abs(score.ends_s)) < 5.0


def test_the_legs_of_some_flights() -> None:
    score = Score()
    for seed in range(25):
        search(seed, score)
    judge(score)


@pytest.mark.long
def test_the_legs_of_many_flights() -> None:
    score = Score()
    for seed in range(100, 300):
        search(seed, score)
    print(
        f"{score.found} of {score.flown} legs, {score.false} false, "
        f"at most {100 * score.most:.0f} % of one in a manoeuvre; "
        f"{score.touching} touch one; "
        f"starts {np.mean(score.starts_s):+.1f} s, ends {np.mean(score.ends_s):+.1f} s; "
        f"{score.solved} of {score.solvable} runs, {score.mixed} mixed"
    )
    judge(score)
