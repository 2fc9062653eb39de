"""The shipped flights of one aircraft are those that the simulator flies."""

from __future__ import annotations

import csv
import io

import numpy as np
import pytest

from seed_demo import first_hours


def cells(text: str) -> list[list[str]]:
    return list(csv.reader(io.StringIO(text)))


@pytest.fixture(scope="module")
def flown() -> dict[str, str]:
    return first_hours.texts()


def test_every_file_is_shipped(flown: dict[str, str]) -> None:
    assert {path.name for path in first_hours.FOLDER.iterdir()} == set(flown)


@pytest.mark.parametrize(
    "name", ["flight-1.csv", "flight-2.csv", "flight-3.csv", "kneeboard.csv", "handbook.csv"]
)
def test_a_shipped_file_is_what_was_flown(flown: dict[str, str], name: str) -> None:
    shipped = cells((first_hours.FOLDER / name).read_text(encoding="utf-8"))
    made = cells(flown[name])
    assert shipped[0] == made[0]
    assert len(shipped) == len(made)
    for there, here in zip(shipped[1:], made[1:], strict=True):
        for one, other in zip(there, here, strict=True):
            # another processor may round a last digit the other way
            assert one == other or float(one) == pytest.approx(float(other), abs=10.0)


def test_the_port_is_no_polynomial_in_lift() -> None:
    slopes = [
        float(first_hours.PORT.kappa(np.array([s + 0.01]))[0])
        - float(first_hours.PORT.kappa(np.array([s]))[0])
        for s in (0.2, 0.25, 0.35, 0.4)
    ]
    assert slopes[0] == pytest.approx(slopes[1])
    assert slopes[2] == pytest.approx(slopes[3])
    assert slopes[3] > 2.0 * slopes[0]
