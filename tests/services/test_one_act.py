"""What is asked again within an act is worked out once; nothing outlives it."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from fleetcal.fleet.points import FleetPoints
from fleetcal.services.curves.one_act import once, one_act


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


def test_the_same_points_are_worked_out_once_in_an_act() -> None:
    asked: list[float] = []
    total = counted(asked)
    with one_act():
        assert [once(total, points(1.0, 2.0)) for _ in range(3)] == [3.0, 3.0, 3.0]
        with one_act():  # a part of it
            assert once(total, points(1.0, 2.0)) == 3.0
        assert asked == [3.0]
        assert once(total, points(1.0, np.nextafter(2.0, 3.0))) > 3.0
        assert once(total, points(1.0, 2.0), 1) == 4.0
        assert once(total, points(1.0, 2.0), order=2) == 5.0
        assert len(asked) == 4


def test_another_act_works_it_out_again() -> None:
    asked: list[float] = []
    total = counted(asked)
    for _ in range(2):
        with one_act():
            once(total, points(1.0, 2.0))
    once(total, points(1.0, 2.0))
    assert len(asked) == 3


def test_an_act_that_fails_leaves_nothing_and_a_refusal_is_not_kept() -> None:
    asked: list[float] = []

    def refusing(one: FleetPoints) -> float:
        asked.append(float(one.y[0]))
        raise ValueError(len(asked))

    def failing_act() -> None:
        with one_act():
            with pytest.raises(ValueError, match="1"):
                once(refusing, points(1.0, 2.0))
            once(refusing, points(1.0, 2.0))

    with pytest.raises(ValueError, match="2"):
        failing_act()
    total = counted(asked)
    once(total, points(1.0, 2.0))
    once(total, points(1.0, 2.0))
    assert len(asked) == 4
