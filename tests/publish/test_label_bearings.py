"""Labels about a circle stand apart, also where their marks lie on one another."""

from __future__ import annotations

import math

import numpy as np

from fleetcal.publish.label_bearings import label_bearings


def test_labels_of_legs_on_one_track_are_moved_apart() -> None:
    bearings = sorted(np.degrees(label_bearings([1.57, 1.571, 1.572])))
    assert np.diff(bearings).min() > 10.0


def test_labels_far_from_one_another_stay_at_their_marks() -> None:
    marks = [0.1, 1.7, 3.2, 4.8]
    assert label_bearings(marks) == marks


def test_labels_either_side_of_north_are_moved_apart() -> None:
    first, _, last = label_bearings([0.01, math.pi, math.tau - 0.01])
    assert (first - last) % math.tau > math.radians(30.0)
