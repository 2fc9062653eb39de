"""Whose points tell what a test sortie usually leaves uncertain."""

from __future__ import annotations

from dataclasses import dataclass
from types import SimpleNamespace
from typing import cast
from unittest.mock import Mock

import numpy as np
import pytest

from fleetcal.fleet.points import FleetPoints
from fleetcal.records import GPS_LEGS, ORDINARY_FLIGHT
from fleetcal.services.curves.type_points import TypePoints
from fleetcal.services.performance.usual_test_flight import usual_of_legs
from fleetcal.store import StoredPoint
from tests.fleet.fleet_maker import fleet_points

pytestmark = pytest.mark.any_store("opens no store")


@dataclass(frozen=True)
class Known:
    """As much of the points of a type as is looked at."""

    points: FleetPoints
    rows: tuple[SimpleNamespace, ...]


def known(*techniques: str) -> TypePoints:
    """Two points of each technique in turn, each technique twice as uncertain as the one before."""
    u = np.repeat([0.004, 0.008, 0.016], 2)[: 2 * len(techniques)]
    points = fleet_points(np.full(len(u), 0.25), 0.0, u, np.zeros(len(u), dtype=int))
    rows = []
    for technique in np.repeat(techniques, 2).tolist():
        stored = Mock(spec=StoredPoint)
        stored.technique = technique
        rows.append(SimpleNamespace(stored=stored))
    return cast(TypePoints, Known(points, tuple(rows)))


@pytest.mark.parametrize(
    ("techniques", "u"),
    [
        ((ORDINARY_FLIGHT, GPS_LEGS, "pace aircraft"), 0.008),
        ((ORDINARY_FLIGHT, "pace aircraft"), 0.008),
        ((ORDINARY_FLIGHT,), 0.004),
    ],
)
def test_legs_count_before_other_techniques_and_ordinary_flights_last(
    techniques: tuple[str, ...], u: float
) -> None:
    own, _ = usual_of_legs(known(*techniques)).at(np.array([0.25]))
    assert own == pytest.approx(u)
