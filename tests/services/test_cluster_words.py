"""What is said of a group that looks like two."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any, cast

import numpy as np

from fleetcal.fleet.model_checks import fit_checked
from fleetcal.fleet.sums import aircraft_sums
from fleetcal.services.curves.cluster_words import groups_like_two
from fleetcal.services.curves.doubts import doubts_of
from fleetcal.services.curves.group_name import GroupName, Member
from fleetcal.services.curves.position_error import POSITION_ERROR, CorrectionScale
from tests.fleet.simulations.invented_fleet import SCALING_SPEED_KT, Plan, draw

BASIS = cast(
    "Any", SimpleNamespace(quantity=POSITION_ERROR, scale=CorrectionScale(SCALING_SPEED_KT))
)


def members(count: int) -> list[Member]:
    return [Member(f"C-{i:02d}", GroupName("wing boom", "E", "P")) for i in range(count)]


def test_the_smaller_cluster_is_named_with_how_far_it_lies_from_the_other() -> None:
    points = draw(Plan(aircraft=12, offsets_kt=(8.0,) * 4), np.random.default_rng(1))
    (found,) = groups_like_two(BASIS, aircraft_sums(points).with_order(2), members(12))
    sentence = found.said
    assert found.group == "wing boom / E / P"
    assert "C-00, C-01, C-02, C-03 lie " in sentence
    assert " kt at 100 kt from the other 8 " in sentence
    apart = float(sentence.split(" lie ")[1].split(" kt")[0])
    assert 6.0 < apart < 10.0


def test_of_many_only_the_first_are_named() -> None:
    points = draw(Plan(aircraft=30, offsets_kt=(9.0,) * 12), np.random.default_rng(2))
    (found,) = groups_like_two(BASIS, aircraft_sums(points).with_order(2), members(30))
    sentence = found.said
    assert "C-07 and more lie" in sentence
    assert "C-08" not in sentence


def test_a_group_of_one_cluster_has_no_sentence() -> None:
    points = draw(Plan(aircraft=12), np.random.default_rng(3))
    assert groups_like_two(BASIS, aircraft_sums(points).with_order(2), members(12)) == ()


def test_the_curve_of_a_group_that_looks_like_two_is_doubted() -> None:
    points = draw(Plan(aircraft=12, offsets_kt=(8.0,) * 4), np.random.default_rng(1))
    fit, checks = fit_checked(points)
    basis = SimpleNamespace(**vars(BASIS), members=members(12), groups=[members(1)[0].group])
    doubts = doubts_of(cast("Any", basis), 0, checks[0], fit)
    assert any("C-00, C-01, C-02, C-03 lie " in sentence for sentence in doubts)
    clean, clean_checks = fit_checked(draw(Plan(aircraft=12), np.random.default_rng(3)))
    doubts = doubts_of(cast("Any", basis), 0, clean_checks[0], clean)
    assert not any("looks like two" in sentence for sentence in doubts)
