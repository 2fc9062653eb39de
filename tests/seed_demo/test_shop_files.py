"""The shipped files of a flight-test shop are the examples that the help shows."""

from __future__ import annotations

from pathlib import Path

import pytest

import seed_demo
from fleetcal.services.measurements.measurement_columns import TECHNIQUE_FILES

SHOP = Path(seed_demo.__file__).parent / "shop"


@pytest.mark.parametrize(
    ("name", "technique"),
    [
        ("pace.csv", "pace-aircraft"),
        ("course.csv", "speed-course"),
        ("tower.csv", "tower-fly-by"),
        ("trailing.csv", "trailing-static"),
    ],
)
def test_a_shipped_file_is_the_example_of_its_technique(name: str, technique: str) -> None:
    assert (SHOP / name).read_text(encoding="utf-8") == TECHNIQUE_FILES[technique].example
