"""Why a run with a power cannot be used for cruise: the first reason that holds is said."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest

from fleetcal.records import GPS_LEGS
from fleetcal.services.performance.cruise_runs import why_not
from fleetcal.store import CruiseRow
from tests.cli.invented_sortie import FT, KT, impact_pa, pressure_pa

pytestmark = pytest.mark.any_store("opens no store")


def true_airspeed_kt(ias_kt: float, altitude_ft: float, temperature_k: float) -> float:
    """Without a position error, written out again."""
    qc, ps = impact_pa(np.array(ias_kt * KT)), pressure_pa(np.array(altitude_ft * FT))
    mach = np.sqrt(5.0 * ((float(qc) / float(ps) + 1.0) ** (2.0 / 7.0) - 1.0))
    return float(mach * np.sqrt(1.4 * 287.05287 * temperature_k)) / KT


GOOD: dict[str, Any] = {
    "accepted": True,
    "reason": "",
    "barred": "",
    "technique": GPS_LEGS,
    "vic_kt": 100.0,
    "pressure_altitude_ft": 4000.0,
    "dhpc_ft": 0.0,
    "kappa": 0.0,
    "u_kappa": 0.005,
    "terms": (),
    "tas_kt": true_airspeed_kt(100.0, 4000.0, 283.15),
    "oat_degc": 10.0,
}


def said(doubt: str = "", **changed: Any) -> str:
    run = SimpleNamespace(point=SimpleNamespace(**{**GOOD, **changed}), power=SimpleNamespace())
    run.power.doubt = doubt
    return why_not(cast(CruiseRow, run))


def test_a_run_whose_airspeeds_and_temperature_agree_is_used() -> None:
    assert said() == ""
    assert said(oat_degc=17.9) == ""
    assert said(oat_degc=2.1) == ""
    assert said(oat_degc=None) == ""


@pytest.mark.parametrize(
    ("changed", "reason"),
    [
        ({"accepted": False, "reason": "gusty"}, "not accepted: gusty"),
        ({"barred": "leak check failed"}, "leak check failed"),
        ({"doubt": "chart misread"}, "its power is doubtful: chart misread"),
        ({"tas_kt": None}, "its true airspeed was not measured over the ground"),
        ({"technique": "pace aircraft"}, "its true airspeed was not measured over the ground"),
        ({"oat_degc": 18.1}, "its true airspeed contradicts its airspeed and temperature"),
        ({"oat_degc": 1.9}, "its true airspeed contradicts its airspeed and temperature"),
        ({"oat_degc": None, "tas_kt": 60.0}, "its true airspeed contradicts its airspeed"),
        ({"oat_degc": None, "tas_kt": 160.0}, "its true airspeed contradicts its airspeed"),
        ({"accepted": False, "reason": "gusty", "doubt": "misread"}, "not accepted: gusty"),
    ],
)
def test_what_speaks_against_a_run_is_said(changed: dict[str, Any], reason: str) -> None:
    assert said(**changed) == reason
