from __future__ import annotations

from datetime import date

import numpy as np
import pytest

from fleetcal.airdata.budget import Assumptions, Term
from fleetcal.services.bench.bench_corrections import BenchInForce
from fleetcal.store import BenchCheckRow

pytestmark = pytest.mark.any_store("opens no store")

KT, FT = 1852.0 / 3600.0, 0.3048
LINES = ((60.0, 0.5), (90.0, 0.0), (120.0, -1.5))


def check(kind: str = "airspeed", u: float = 0.4) -> BenchCheckRow:
    day = date(2024, 3, 1)
    return BenchCheckRow(
        bench_check_id=7,
        airframe="C-01",
        kind=kind,
        checked_on=day,
        u=u,
        note="",
        withdrawn="",
        source_name="card.csv",
        sha256="0" * 64,
        rows=LINES,
    )


IN_FORCE = BenchInForce(check(), None)


@pytest.mark.parametrize(
    ("indicated", "corrected"),
    [(60.0, 60.5), (75.0, 75.25), (90.0, 90.0), (110.0, 109.0), (120.0, 118.5)],
)
def test_between_the_readings_the_correction_is_interpolated(
    indicated: float, corrected: float
) -> None:
    found = IN_FORCE.corrected("airspeed", np.array([indicated]) * KT) / KT
    assert found == pytest.approx([corrected], rel=1e-12)


@pytest.mark.parametrize(("indicated", "corrected"), [(50.0, 50.5), (150.0, 148.5)])
def test_beyond_the_readings_the_end_value_stays(indicated: float, corrected: float) -> None:
    readings = np.array([indicated]) * KT
    assert IN_FORCE.corrected("airspeed", readings) / KT == pytest.approx([corrected], rel=1e-12)
    warning = IN_FORCE.beyond("airspeed", [readings])
    assert "from 60 to 120 kt" in warning
    assert "its end value is used" in warning


def test_readings_within_the_check_need_no_warning() -> None:
    within = [np.array([60.0, 90.0]) * KT, np.array([120.0]) * KT]
    assert IN_FORCE.beyond("airspeed", within) == ""
    assert IN_FORCE.beyond("airspeed", []) == ""


def test_a_missing_sample_stays_missing() -> None:
    found = IN_FORCE.corrected("airspeed", np.array([np.nan, 90.0 * KT]))
    assert np.isnan(found[0])
    assert found[1] == pytest.approx(90.0 * KT)


def test_without_a_check_nothing_is_changed_and_the_default_is_named() -> None:
    readings = np.array([100.0]) * FT
    assert np.array_equal(IN_FORCE.corrected("altimeter", readings), readings)
    assert IN_FORCE.beyond("altimeter", [readings]) == ""
    airspeed, altimeter = IN_FORCE.notes(("airspeed",), IN_FORCE.assumptions(("airspeed",), USUAL))
    assert airspeed == (
        "Bench check of 2024-03-01 (number 7, u 0.4 kt) applied to the airspeed indicator."
    )
    assert altimeter == "No bench check applied to the altimeter: u 20 ft supposed."


USUAL = Assumptions()


def test_the_uncertainty_of_a_check_takes_the_place_of_the_default_where_it_is_applied() -> None:
    both = BenchInForce(check(), check("altimeter", 12.0))
    used = both.assumptions(("airspeed", "altimeter"), USUAL)
    assert used.u_airspeed_mps == pytest.approx(0.4 * KT)
    assert used.u_altitude_m == pytest.approx(12.0 * FT)
    assert both.assumptions((), USUAL) == USUAL
    assert both.assumptions(("altimeter",), USUAL).u_airspeed_mps == USUAL.u_airspeed_mps


def test_terms_say_where_their_uncertainty_is_from() -> None:
    terms = [
        Term(name="airspeed indicator", u_kappa=0.01, owner="airframe", kind="B", note="0.4 kt"),
        Term(name="altimeter", u_kappa=0.01, owner="airframe", kind="B"),
        Term(name="timing", u_kappa=0.01, owner="point", kind="B", note="0.3 s"),
    ]
    notes = [t.note for t in IN_FORCE.noted(("airspeed",), terms)]
    assert notes == ["0.4 kt, bench check of 2024-03-01", "no bench check", "0.3 s"]


def test_what_was_applied_can_be_kept() -> None:
    assert IN_FORCE.document(("airspeed",)) == {
        "airspeed": {
            "bench_check_id": 7,
            "checked_on": "2024-03-01",
            "u_kt": 0.4,
            "rows": [[60.0, 0.5], [90.0, 0.0], [120.0, -1.5]],
        },
        "altimeter": None,
    }
    assert IN_FORCE.document(()) == {"airspeed": None, "altimeter": None}
