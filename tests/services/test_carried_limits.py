"""The lowest limit of each kind holds; limits of other names are each a kind of their own."""

from __future__ import annotations

from types import SimpleNamespace
from typing import cast

import pytest

from fleetcal.services.handbook.carried_limits import carry_limits, rounded_down, usable_kt
from fleetcal.services.handbook.fitted_port import FittedPort
from fleetcal.services.handbook.limit_sources import MANOEUVRING, NEVER_EXCEED, OTHER, StatedLimit

pytestmark = pytest.mark.any_store("opens no store")

PORT = "wing boom"
FITTED = SimpleNamespace(weight_kg=540.0, name=SimpleNamespace(static_source=PORT))


def stated(kind: str, name: str, ias_kt: float) -> StatedLimit:
    """A limit as an IAS on the fitted port itself, without a table to carry it by."""
    return StatedLimit(
        kind=kind,
        name=name,
        source="handbook 2019",
        ias_kt=ias_kt,
        port=PORT,
        cas_kt=None,
        weight_kg=600.0,
    )


def test_each_kind_is_there_once_and_each_other_name_by_itself() -> None:
    limits = (
        stated(OTHER, "Maximum, canopy open", 100.0),
        stated(OTHER, "maximum tow", 95.0),
        stated(OTHER, "Maximum Tow", 90.0),
        stated(NEVER_EXCEED, "never exceed", 150.0),
        stated(NEVER_EXCEED, "VNE", 140.0),
        stated(MANOEUVRING, "manoeuvring", 100.0),
    )
    found = carry_limits(limits, cast(FittedPort, SimpleNamespace(fitted=FITTED)))
    assert {(one.name, one.usable_kt) for one in found} == {
        ("VNE", 140.0),
        ("manoeuvring", 94.8),  # 100 kt times the root of 540/600
        ("Maximum Tow", 90.0),
        ("Maximum, canopy open", 100.0),
    }
    assert len(found) == 4
    assert usable_kt(found, NEVER_EXCEED) == 140.0
    assert usable_kt(found, "flap limit") is None
    against = {one.name: one.against for one in found if one.against}
    assert set(against) == {"VNE", "Maximum Tow"}
    assert against["VNE"][0].endswith("which would be 150.0 kt here: the lower holds")


@pytest.mark.parametrize(("speed", "shown"), [(94.86, 94.8), (94.8, 94.8), (95.0, 95.0)])
def test_a_limit_is_rounded_down_to_tenths(speed: float, shown: float) -> None:
    assert rounded_down(speed) == shown
