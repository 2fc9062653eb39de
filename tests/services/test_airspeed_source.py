"""Which airspeed of a log is believed, and what it makes of the others."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from fleetcal.errors import ImplausibleError
from fleetcal.flightlog import Recording, read_recording
from fleetcal.services.flights.airspeed_source import air_readings
from fleetcal.services.flights.settings_file import Probe, ReductionSettings

pytestmark = pytest.mark.any_store("opens no store")

#: A probe of which the headings say no more.
PROBE = ReductionSettings(probe=Probe(0.8))
KT = 1852.0 / 3600.0
KT_PER_MPH = 1609.344 / 1852.0
SECONDS = 120

# A flight at 5000 ft in the standard atmosphere (ISO 2533:1975: 843.07 hPa, 5.094 degC).
# Indicated airspeed from 80 to 120 kt; impact pressure and true airspeed that belong to it
# by the isentropic relations, written out here again.
IAS_KT = np.linspace(80.0, 120.0, SECONDS)
STATIC_PA = 101325.0 * (1.0 - 0.0065 * 1524.0 / 288.15) ** 5.2558797
AMBIENT_K = 288.15 - 0.0065 * 1524.0
IMPACT_PA = 101325.0 * ((1.0 + 0.2 * (IAS_KT * KT / 340.294) ** 2) ** 3.5 - 1.0)
MACH = np.sqrt(5.0 * ((1.0 + IMPACT_PA / STATIC_PA) ** (1.0 / 3.5) - 1.0))
TAS_KT = MACH * np.sqrt(1.4 * 287.05287 * AMBIENT_K) / KT


def recording(path: Path, columns: dict[str, tuple[np.ndarray, str]]) -> Recording:
    """Write a log of these columns and read it."""
    whole = {
        "time (s)": (np.arange(SECONDS, dtype=float), "%.0f"),
        "ground speed (kt)": (TAS_KT, "%.1f"),
        "track (deg)": (np.full(SECONDS, 90.0), "%.0f"),
    }
    whole |= columns
    if not any("altitude" in heading or "static pressure" in heading for heading in whole):
        whole["pressure altitude (ft)"] = (np.full(SECONDS, 5000.0), "%.0f")
    if not any("temperature" in heading or "OAT" in heading for heading in whole):
        whole["static air temperature (K)"] = (np.full(SECONDS, AMBIENT_K), "%.3f")
    cells = [np.char.mod(form, values) for values, form in whole.values()]
    rows = [",".join(whole), *(",".join(row) for row in zip(*cells, strict=True))]
    log = path / "log.csv"
    log.write_text("\n".join(rows) + "\n", encoding="utf-8")
    return read_recording(log)


IAS = {"IAS (kt)": (IAS_KT, "%.2f")}
IAS_WRONG = {"IAS (kt)": (IAS_KT / KT_PER_MPH, "%.2f")}
TAS = {"TAS (kt)": (TAS_KT, "%.2f")}
TAS_WRONG = {"TAS (kt)": (TAS_KT / KT_PER_MPH, "%.2f")}
IMPACT = {"impact pressure (hPa)": (IMPACT_PA / 100.0, "%.3f")}
COARSE_IMPACT = {"impact pressure (hPa)": (IMPACT_PA / 100.0, "%.1f")}


@pytest.mark.parametrize("columns", [IAS, TAS, IMPACT], ids=["indicated", "true", "impact"])
def test_each_airspeed_alone_gives_the_same_readings(
    columns: dict[str, tuple[np.ndarray, str]], tmp_path: Path
) -> None:
    air = air_readings(recording(tmp_path, columns), PROBE)
    # The logs are rounded to hundredths of a knot and of a millibar.
    np.testing.assert_allclose(air.airspeed_mps, IAS_KT * KT, atol=0.02 * KT)
    assert air.warnings == ()


@pytest.mark.parametrize(
    ("columns", "chosen", "warned"),
    [
        (IAS | TAS, "indicated_airspeed", 0),
        (IAS | IMPACT | TAS, "indicated_airspeed", 0),
        (IAS | TAS_WRONG | IMPACT, "indicated_airspeed", 2),
        # Of two that may be right, the one that is logged more finely.
        (IAS_WRONG | TAS | IMPACT, "impact_pressure", 2),
        (IAS_WRONG | TAS | COARSE_IMPACT, "true_airspeed", 2),
    ],
)
def test_two_that_agree_outvote_a_third(
    columns: dict[str, tuple[np.ndarray, str]], chosen: str, warned: int, tmp_path: Path
) -> None:
    air = air_readings(recording(tmp_path, columns), PROBE)
    assert air.airspeed_from == chosen
    assert len(air.warnings) == warned
    assert all(warning.startswith("log.csv: ") for warning in air.warnings)
    np.testing.assert_allclose(air.airspeed_mps, IAS_KT * KT, atol=0.02 * KT)


@pytest.mark.parametrize("columns", [IAS_WRONG | TAS, IAS | TAS_WRONG, IAS_WRONG | IMPACT])
def test_a_contradiction_that_nothing_decides_is_refused(
    columns: dict[str, tuple[np.ndarray, str]], tmp_path: Path
) -> None:
    log = recording(tmp_path, columns)
    with pytest.raises(ImplausibleError) as refusal:
        air_readings(log, PROBE)
    for heading in columns:
        assert repr(heading) in refusal.value.message
    assert "--airspeed-from" in refusal.value.hint
    wanted = "indicated_airspeed"
    assert air_readings(log, PROBE, named_airspeed=wanted).airspeed_from == wanted
    assert len(air_readings(log, PROBE, named_airspeed=wanted).warnings) == 1


@pytest.mark.parametrize(
    "gaps", [slice(0, 3), slice(5, None, 20)], ids=["at the start", "here and there"]
)
@pytest.mark.parametrize("columns", [IAS_WRONG | TAS, IAS | TAS_WRONG, IAS_WRONG | IMPACT])
def test_missing_cells_hide_no_contradiction(
    columns: dict[str, tuple[np.ndarray, str]], gaps: slice, tmp_path: Path
) -> None:
    holed = {}
    for heading, (values, form) in columns.items():
        holed[heading] = (np.array(values), form)
        holed[heading][0][gaps] = np.nan
        gaps = slice((gaps.start or 0) + 1, gaps.stop, gaps.step)
    with pytest.raises(ImplausibleError, match="contradicts"):
        air_readings(recording(tmp_path, holed), PROBE)


@pytest.mark.parametrize("share", [0.97, 1.03])
def test_a_position_error_is_not_taken_for_a_wrong_column(share: float, tmp_path: Path) -> None:
    columns = {"IAS (kt)": (IAS_KT * share, "%.2f")} | TAS
    air = air_readings(recording(tmp_path, columns), PROBE)
    assert (air.airspeed_from, air.warnings) == ("indicated_airspeed", ())


def test_what_is_not_in_the_file_cannot_be_wanted(tmp_path: Path) -> None:
    with pytest.raises(ImplausibleError, match="no true airspeed"):
        air_readings(recording(tmp_path, IAS), PROBE, named_airspeed="true_airspeed")


def test_static_pressure_stands_for_pressure_altitude_with_its_step(tmp_path: Path) -> None:
    moving = STATIC_PA / 100.0 + np.tile([0.0, 0.5, 1.0], SECONDS // 3)
    columns = IAS | {"static pressure (hPa)": (moving, "%.1f")}
    air = air_readings(recording(tmp_path, columns), PROBE)
    assert air.altitude_m[0] == pytest.approx(1524.0, abs=0.6)
    # At 5000 ft a hectopascal is 9.7 m: rho*g there is 10.36 Pa/m (ISO 2533:1975).
    assert air.steps["altitude"] == pytest.approx(0.5 * 100.0 / 10.36, rel=0.01)


@pytest.mark.parametrize(
    ("heading", "recovery"),
    [
        ("total air temperature (degC)", 1.0),
        ("static air temperature (degC)", 0.0),
        ("OAT (degC)", 0.8),
    ],
)
def test_the_words_of_the_heading_decide_the_recovery_factor(
    heading: str, recovery: float, tmp_path: Path
) -> None:
    columns = IAS | {heading: (np.full(SECONDS, 5.0), "%.1f")}
    assert (
        air_readings(recording(tmp_path, columns), PROBE).taken.temperature.recovery_factor
        == recovery
    )


def test_the_step_of_an_impact_pressure_becomes_one_of_airspeed(tmp_path: Path) -> None:
    columns = {"impact pressure (hPa)": (IMPACT_PA / 100.0, "%.0f")}
    air = air_readings(recording(tmp_path, columns), PROBE)
    # d(qc)/dV is near rho0*V: one hectopascal at the median 100 kt.
    assert air.steps["airspeed"] == pytest.approx(100.0 / (1.225 * 100.0 * KT), rel=0.03)


def test_a_reading_outside_any_flight_is_refused_with_the_file(tmp_path: Path) -> None:
    columns = {"TAS (m/s)": (np.full(SECONDS, 350.0), "%.0f")}
    with pytest.raises(ImplausibleError, match=r"^log\.csv: "):
        air_readings(recording(tmp_path, columns), PROBE)


@pytest.mark.parametrize(
    ("columns", "named"),
    [
        (IAS_WRONG | TAS, "'IAS (kt)' were mph"),
        ({"IAS (kt)": (IAS_KT * 1.852, "%.1f")} | TAS, "'IAS (kt)' were km/h"),
        ({"IAS (m/s)": (IAS_KT, "%.1f")} | TAS, "'IAS (m/s)' were kt"),
        (IAS | {"TAS (kt)": (TAS_KT * KT, "%.2f")}, "'TAS (kt)' were m/s"),
    ],
)
def test_a_contradiction_names_the_unit_that_would_explain_it(
    columns: dict[str, tuple[np.ndarray, str]], named: str, tmp_path: Path
) -> None:
    with pytest.raises(ImplausibleError, match="contradicts") as refusal:
        air_readings(recording(tmp_path, columns), PROBE)
    assert named in refusal.value.message


def test_a_dead_airspeed_is_left_aside_for_a_living_one(tmp_path: Path) -> None:
    dead = {"IAS (kt)": (np.linspace(0.0, 3.0, SECONDS), "%.1f")}
    air = air_readings(recording(tmp_path, dead | TAS), PROBE)
    assert air.airspeed_from == "true_airspeed"
    assert any("dead sensor" in warning for warning in air.warnings)
    with pytest.raises(ImplausibleError, match="dead sensor"):
        air_readings(recording(tmp_path, dead | TAS), PROBE, named_airspeed="indicated_airspeed")


def test_a_column_made_of_another_is_known_as_such(tmp_path: Path) -> None:
    feet = np.linspace(2000.0, 9000.0, SECONDS)
    true_mps = (105.0 + np.sin(np.arange(SECONDS))) * KT
    columns = {
        "IAS (m/s)": (true_mps * KT, "%.3f"),
        "TAS (m/s)": (true_mps, "%.3f"),
        "pressure altitude (ft)": (feet, "%.0f"),
        "ground speed (kt)": (np.full(SECONDS, 100.0) + np.arange(SECONDS) % 7, "%.1f"),
        "static air temperature (degC)": (15.0 - 0.0019812 * feet, "%.1f"),
    }
    columns["TAS (m/s)"][0][7::30] = np.nan
    with pytest.raises(ImplausibleError, match="one was made from the other"):
        air_readings(recording(tmp_path, columns), PROBE)


def test_an_airspeed_beyond_what_wind_explains_names_its_unit(tmp_path: Path) -> None:
    columns = {"IAS (kt)": (IAS_KT * 1.852, "%.1f")}
    air = air_readings(recording(tmp_path, columns), PROBE)
    assert any("more than wind explains" in w and "km/h" in w for w in air.warnings)
