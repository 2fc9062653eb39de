"""An aircraft judged with other points is as it would be had they been given."""

from __future__ import annotations

import numpy as np
import pytest

from fleetcal.fleet.judged_instead import judge_instead, measured_again, with_points
from fleetcal.fleet.outliers import judge_fleet
from tests.fleet.fleet_maker import random_points


def test_with_all_its_points_an_aircraft_stands_where_it_stood() -> None:
    points = random_points(4, (7, 5, 6, 8, 6, 7))
    verdicts = judge_fleet(points, order=1)
    whole = with_points(points, 2, np.flatnonzero(points.aircraft == 2), 1)
    same, doubled = judge_instead(verdicts, 2, [whole, measured_again(verdicts.fit.sums, 2, 2.0)])
    assert same[0].p_value == pytest.approx(verdicts.standings[2].p_value, rel=0.03)
    assert same[1] == pytest.approx(verdicts.adjusted[2], rel=0.03)
    np.testing.assert_allclose(same[0].departure, doubled[0].departure, rtol=1e-6)
    assert doubled[0].covariance[0, 0] < same[0].covariance[0, 0]


def test_more_aircraft_like_the_others_tell_more() -> None:
    points = random_points(6, (7, 5, 6, 8, 6))
    verdicts = judge_fleet(points, order=1)
    version = [measured_again(verdicts.fit.sums, 0, 1.0)]
    ((few, _),) = judge_instead(verdicts, 0, version)
    ((many, _),) = judge_instead(verdicts, 0, version, [1, 2, 3, 4] * 3)
    assert many.others == few.others + 12
    assert many.covariance[0, 0] < few.covariance[0, 0]
