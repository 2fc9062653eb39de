from __future__ import annotations

import dataclasses
import math
from typing import Any

import pytest

from fleetcal.errors import ImplausibleError
from fleetcal.publish.pooled_table import PlottedPoint
from tests.publish.invented_table import empty_row, filled_row, invented_table


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"cas_kt": 90.0}, "CAS 90 kt"),
        ({"correction_kt": math.nan}, "correction_kt = nan"),
        ({"next_high_kt": math.inf}, "next_high_kt = inf"),
        ({"mean_low_kt": 9.0}, "upside|above its upper"),
        ({"next_low_kt": 9.0}, "above its upper"),
        ({"next_low_kt": None}, "not all"),
        ({"ias_kt": -80.0}, "positive"),
    ],
)
def test_a_row_that_contradicts_itself_is_refused(changes: dict[str, Any], words: str) -> None:
    with pytest.raises(ImplausibleError, match=words):
        dataclasses.replace(filled_row(80.0), **changes)


def test_an_empty_row_must_say_why() -> None:
    assert empty_row(50.0, "too slow").is_empty
    with pytest.raises(ImplausibleError, match="gives no reason"):
        empty_row(50.0, " ")
    with pytest.raises(ImplausibleError, match="altitude"):
        dataclasses.replace(empty_row(50.0), altitude_correction_ft=1.0)


def test_a_row_may_go_without_an_altitude_correction() -> None:
    assert not dataclasses.replace(filled_row(80.0), altitude_correction_ft=None).is_empty


def test_a_table_has_rows_and_its_speeds_rise() -> None:
    with pytest.raises(ImplausibleError, match="no rows"):
        invented_table(rows=())
    for wrong in ((filled_row(80.0), filled_row(70.0)), (filled_row(80.0), filled_row(80.0))):
        with pytest.raises(ImplausibleError, match="do not rise"):
            invented_table(rows=wrong)
        with pytest.raises(ImplausibleError, match="do not rise"):
            invented_table(curve=wrong)


@pytest.mark.parametrize("values", [(math.nan, 1.0, 0.5), (80.0, math.inf, 0.5), (80.0, 1.0, -0.1)])
def test_a_point_that_cannot_be_drawn_is_refused_by_name(
    values: tuple[float, float, float],
) -> None:
    ias_kt, correction_kt, u_correction_kt = values
    with pytest.raises(ImplausibleError, match="C-05"):
        PlottedPoint(
            airframe="C-05",
            ias_kt=ias_kt,
            correction_kt=correction_kt,
            u_correction_kt=u_correction_kt,
        )


def test_the_pairing_is_named_or_said_to_be_pooled() -> None:
    assert invented_table().pairing == "engine 75 kW four, propeller three-blade ground-adjustable"
    assert invented_table(engine=None, propeller=None).pairing.startswith("all engines")
    assert invented_table(propeller=None).pairing == "engine 75 kW four, propeller any"
