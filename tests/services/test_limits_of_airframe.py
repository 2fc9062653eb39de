"""The limits of one airframe where its own points or its port tell nothing more."""

from __future__ import annotations

from datetime import date
from types import SimpleNamespace
from typing import Any, cast

import pytest

from fleetcal.errors import FitError
from fleetcal.services.handbook.carried_limits import CarriedLimit
from fleetcal.services.performance import limits_of_airframe as module
from fleetcal.services.performance.limits_of_airframe import limits_of_airframe
from fleetcal.store import AirframeDescription, FitDescription

pytestmark = pytest.mark.any_store("opens no store")

PORT, OTHER_PORT = "wing boom", "tail-boom flush pair"
LIMIT = CarriedLimit(
    kind="never exceed",
    name="never exceed",
    printed_kt=154.0,
    usable_kt=141.2,
    cas_kt=139.0,
    ias_kt=142.0,
    low_kt=141.2,
    high_kt=143.0,
    because="handbook 2019",
    against=(),
)


def limits(port: str, place: int | None, monkeypatch: pytest.MonkeyPatch) -> CarriedLimit:
    """The one limit of an airframe with a port in a group whose other aircraft tell too little."""

    def own_curve(*_: object) -> Any:
        raise FitError("the other aircraft of the group do not determine its curve", "fly more")

    monkeypatch.setattr(module, "own_curve", own_curve)
    monkeypatch.setattr(module, "limits_on_port", lambda *_: (LIMIT,))
    fit = FitDescription(
        from_date=date(2020, 1, 1), static_source=port, engine="75 kW four", propeller="fixed"
    )
    airframe = AirframeDescription(tag="C-01", type="Corrie 2", note="", fits=(fit,))
    name = SimpleNamespace(static_source=PORT)
    fitted = SimpleNamespace(pooled=None, number=0, name=name)
    (found,) = limits_of_airframe((), airframe, cast(Any, SimpleNamespace(fitted=fitted)), place)
    return found


@pytest.mark.parametrize("place", [None, 0])
def test_without_a_curve_of_its_own_the_group_s_limits_hold(
    place: int | None, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert limits(PORT, place, monkeypatch) == LIMIT


def test_on_a_port_without_a_curve_the_lowest_known_figure_holds(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    found = limits(OTHER_PORT, 0, monkeypatch)
    assert found.usable_kt == 139.0
    assert (found.ias_kt, found.low_kt, found.high_kt) == (None, None, None)
    assert f"{OTHER_PORT} has no curve" in found.because
