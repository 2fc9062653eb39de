"""Settings of a reduction: the trade's units outside, SI inside."""

from __future__ import annotations

from dataclasses import fields
from pathlib import Path

import numpy as np
import pytest

from fleetcal.errors import MalformedFileError
from fleetcal.services.flights.settings_file import (
    ReductionSettings,
    read_settings,
    settings_document,
    settings_toml,
)
from fleetcal.services.flights.settings_words import WORDS

pytestmark = pytest.mark.any_store("opens no store")

DEFAULTS = ReductionSettings()

# Exact by definition: the nautical mile is 1852 m, the foot 0.3048 m.
CONVERTED = [
    ("legs", "slowest_kt", "slowest_mps", 1852.0 / 3600.0),
    ("legs", "climb_rate_ftmin", "climb_rate_mps", 0.3048 / 60.0),
    ("legs", "altitude_drift_ft", "altitude_drift_m", 0.3048),
    ("legs", "turn_rate_deg_per_s", "turn_rate_radps", 3.141592653589793 / 180.0),
    ("legs", "bank_deg", "bank_rad", 3.141592653589793 / 180.0),
    ("legs", "acceleration_kt_per_min", "acceleration_mps2", 1852.0 / 3600.0 / 60.0),
    ("legs", "settle_s", "settle_s", 1.0),
    ("runs", "airspeed_apart_kt", "airspeed_apart_mps", 1852.0 / 3600.0),
    ("uncertainty", "u_temperature_k", "u_temperature_k", 1.0),
    ("uncertainty", "u_altitude_ft", "u_altitude_m", 0.3048),
    ("uncertainty", "leg_scatter_kt", "leg_scatter_mps", 1852.0 / 3600.0),
]


@pytest.mark.parametrize(("table", "key", "name", "unit"), CONVERTED)
def test_a_key_is_converted_to_the_field_it_names(
    table: str, key: str, name: str, unit: float, tmp_path: Path
) -> None:
    (tmp_path / "s.toml").write_text(f"[{table}]\n{key} = 7.0\n")
    found = read_settings(tmp_path / "s.toml")
    assert getattr(getattr(found, table), name) == pytest.approx(7.0 * unit, rel=1e-12)


def test_what_a_file_leaves_out_keeps_its_default(tmp_path: Path) -> None:
    (tmp_path / "s.toml").write_text("[legs]\nsettle_s = 11\n")
    found = read_settings(tmp_path / "s.toml")
    assert found.legs.settle_s == 11.0
    for section in fields(DEFAULTS):
        for entry in fields(getattr(DEFAULTS, section.name)):
            if entry.name != "settle_s":
                default = getattr(getattr(DEFAULTS, section.name), entry.name)
                value = getattr(getattr(found, section.name), entry.name)
                assert value == default or (np.isnan(value) and np.isnan(default))


def test_no_file_is_the_defaults() -> None:
    assert repr(read_settings(None)) == repr(DEFAULTS)  # some are NaN


def test_every_setting_can_be_written_and_comes_back(tmp_path: Path) -> None:
    document = settings_document(DEFAULTS)
    assert set(document) == {section.name for section in fields(DEFAULTS)}
    (tmp_path / "s.toml").write_text(settings_toml(DEFAULTS))
    again = read_settings(tmp_path / "s.toml")
    assert settings_document(again) == document
    for section in fields(DEFAULTS):
        for entry in fields(getattr(DEFAULTS, section.name)):
            value = getattr(getattr(DEFAULTS, section.name), entry.name)
            found = getattr(getattr(again, section.name), entry.name)
            # Nine decimals are written, in the trade's units.
            near = value if value is None else pytest.approx(value, abs=1e-8, nan_ok=True)
            assert found == near


def test_a_key_that_is_unknown_is_told_with_those_that_are_known(tmp_path: Path) -> None:
    (tmp_path / "s.toml").write_text("[runs]\nspeed_apart_kt = 3\n")
    with pytest.raises(MalformedFileError, match="'speed_apart_kt'") as refusal:
        read_settings(tmp_path / "s.toml")
    assert "airspeed_apart_kt" in refusal.value.hint


def test_every_setting_is_explained_above_its_line() -> None:
    lines = settings_toml(DEFAULTS).splitlines()
    for table, keys in settings_document(DEFAULTS).items():
        begin = lines.index(f"[{table}]")
        for key in keys:
            place = next(i for i in range(begin, len(lines)) if lines[i].startswith(f"{key} = "))
            assert lines[place - 1].startswith("# ")
            assert len(WORDS[table][key]) > 10
    said = {(table, key) for table, keys in WORDS.items() for key in keys}
    names = ("leg_scatter_kt", "u_airspeed_kt", "u_altitude_ft", "recovery_factor")
    unset = {("probe" if name == "recovery_factor" else "uncertainty", name) for name in names}
    assert all(any(line.startswith(f"# {name} is not set") for line in lines) for name in names)
    assert said - unset == {(t, k) for t, keys in settings_document(DEFAULTS).items() for k in keys}


def test_a_changed_setting_is_shown_with_its_default(tmp_path: Path) -> None:
    (tmp_path / "s.toml").write_text("[legs]\nsettle_s = 11\n")
    text = settings_toml(read_settings(tmp_path / "s.toml"))
    assert "(default 8.0)\nsettle_s = 11.0\n" in text
    assert text.count("(default") == 1
