"""What is asked again of the same points is worked out once."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pytest

from fleetcal.fleet.points import FleetPoints
from fleetcal.services.curves.once import MOST_KEPT, once


def counted(answers: list[float]) -> Callable[..., float]:
    """A function that notes what it was asked."""

    def total(points: FleetPoints, order: int | None = None) -> float:
        answers.append(float(points.y.sum()) + (order or 0))
        return answers[-1]

    return total


def points(*y: float) -> FleetPoints:
    """Points of one aircraft."""
    many = len(y)
    return FleetPoints(
        x=np.linspace(0.1, 0.4, many),
        y=np.array(y),
        u_own=np.full(many, 0.01),
        u_shared=np.zeros((many, 1)),
        sortie=np.zeros(many, dtype=np.int64),
        aircraft=np.zeros(many, dtype=np.int64),
        group_of=np.zeros(1, dtype=np.int64),
    )


def test_the_same_points_are_worked_out_once() -> None:
    asked: list[float] = []
    total = counted(asked)
    assert [once(total, points(1.0, 2.0)) for _ in range(3)] == [3.0, 3.0, 3.0]
    assert asked == [3.0]
    assert once(total, points(1.0, np.nextafter(2.0, 3.0))) > 3.0
    assert once(total, points(1.0, 2.0), 1) == 4.0
    assert once(total, points(1.0, 2.0), order=2) == 5.0
    assert len(asked) == 4


def test_another_function_is_asked_for_itself() -> None:
    asked: list[float] = []
    for total in (counted(asked), counted(asked)):
        once(total, points(1.0, 2.0))
    assert len(asked) == 2


def test_a_refusal_is_not_kept() -> None:
    asked: list[float] = []

    def refusing(one: FleetPoints) -> float:
        asked.append(float(one.y[0]))
        raise ValueError(len(asked))

    for count in ("1", "2"):
        with pytest.raises(ValueError, match=count):
            once(refusing, points(1.0, 2.0))


def test_only_the_answers_asked_for_last_are_kept() -> None:
    asked: list[float] = []
    total = counted(asked)
    for number in range(MOST_KEPT):
        once(total, points(float(number)))
    once(total, points(0.0))  # asked for again, so that number 1 is the oldest
    once(total, points(-1.0))
    assert len(asked) == MOST_KEPT + 1
    once(total, points(0.0))
    assert len(asked) == MOST_KEPT + 1
    once(total, points(1.0))
    assert len(asked) == MOST_KEPT + 2


def test_threads_that_ask_at_once_are_all_answered() -> None:
    asked: list[float] = []
    total = counted(asked)
    with ThreadPoolExecutor(8) as threads:
        made = [threads.submit(once, total, points(float(n % 40))) for n in range(400)]
        assert [one.result() for one in made] == [float(n % 40) for n in range(400)]
