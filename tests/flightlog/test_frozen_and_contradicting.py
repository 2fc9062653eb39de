from __future__ import annotations

import numpy as np
import pytest

from fleetcal.errors import ImplausibleError
from fleetcal.flightlog import read_mapping, read_recording
from tests.flightlog.corpus.flown import fly
from tests.flightlog.corpus.shapes import ALT, GS, IAS, OAT, TRACK, plain
from tests.flightlog.corpus.texts import iso, readings, replaced, table, written


@pytest.fixture(scope="module")
def flown():
    return fly(1, 36000.0)


def read(tmp_path, columns, mapping=None):
    path = tmp_path / "log.csv"
    path.write_text(table(columns))
    said = None
    if mapping:
        (tmp_path / "m.toml").write_text(mapping)
        said = read_mapping(tmp_path / "m.toml")
    return read_recording(path, said)


def held(cells, start, stop):
    return [*cells[:start], *[cells[start]] * (stop - start), *cells[stop:]]


def told(recording, *words):
    found = [w for w in recording.warnings if all(word in w for word in words)]
    assert found, recording.warnings
    return found[0]


def test_a_sound_flight_raises_no_doubt(tmp_path, flown):
    more = {
        "lat (deg)": written(flown.latitude_deg, 7),
        "lon (deg)": written(flown.longitude_deg, 7),
        "GPS altitude (m)": written(flown.gps_altitude_m, 1),
        "static pressure (hPa)": written(flown.static_hpa, 2),
    }
    assert read(tmp_path, iso(flown) | readings(flown) | more).warnings == ()


def test_a_frozen_receiver_is_left_out_with_lines_and_seconds(tmp_path, flown):
    base = iso(flown) | readings(flown)
    columns = base | {name: held(base[name], 305, 465) for name in (GS, TRACK)}
    recording = read(tmp_path, columns)
    warning = told(recording, "ground speed and track stood still", "159 s")
    assert "lines 307 to 466" in warning
    assert np.isnan(recording.channels["ground_speed"][305:465]).all()
    assert np.isnan(recording.channels["track"][305:465]).all()
    assert np.isfinite(recording.channels["ground_speed"][470:]).all()


def test_a_frozen_airspeed_is_left_out(tmp_path, flown):
    base = iso(flown) | readings(flown)
    more = {"TAS (kt)": written(flown.tas_kt, 1)}
    recording = read(tmp_path, base | {IAS: held(base[IAS], 400, 520)} | more)
    told(recording, "indicated airspeed stood still", "119 s")
    assert np.isnan(recording.channels["indicated_airspeed"][400:520]).all()


def test_whole_knots_that_rest_in_calm_air_are_not_taken_for_frozen(tmp_path, flown):
    base = iso(flown) | readings(flown)
    columns = base | {
        GS: [f"{float(cell):.0f}" for cell in held(base[GS], 300, 345)],
        TRACK: [f"{float(cell):.0f}" for cell in held(base[TRACK], 300, 345)],
        IAS: [f"{float(cell):.0f}" for cell in held(base[IAS], 300, 345)],
    }
    assert not any("stood still" in warning for warning in read(tmp_path, columns).warnings)


def test_an_altimeter_setting_left_in_is_named(tmp_path, flown):
    base = iso(flown) | readings(flown)
    columns = replaced(base, {ALT: (ALT, written(flown.indicated_ft, 1))})
    columns["static pressure (hPa)"] = written(flown.static_hpa, 2)
    warning = told(read(tmp_path, columns), "static pressure", "as if the altimeter were set to")
    assert "1003 hPa" in warning


def test_magnetic_tracks_are_seen_by_positions(tmp_path, flown):
    base = iso(flown) | readings(flown)
    columns = replaced(base, {TRACK: (TRACK, written(np.mod(flown.track_deg - 12.0, 360.0), 1))})
    columns["lat (deg)"] = written(flown.latitude_deg, 7)
    columns["lon (deg)"] = written(flown.longitude_deg, 7)
    assert "-12 degrees" in told(read(tmp_path, columns), "magnetic north")


def test_missing_cells_hide_no_contradiction(tmp_path, flown):
    track = written(np.mod(flown.track_deg - 12.0, 360.0), 1)
    track[40::50] = [""] * len(track[40::50])
    columns = replaced(iso(flown) | readings(flown), {TRACK: (TRACK, track)})
    columns["lat (deg)"] = written(flown.latitude_deg, 7)
    columns["lon (deg)"] = written(flown.longitude_deg, 7)
    assert "-12 degrees" in told(read(tmp_path, columns), "magnetic north")


def test_a_satellite_altitude_wildly_off_is_told_and_does_no_harm(tmp_path, flown):
    columns = iso(flown) | readings(flown)
    columns["GPS altitude (m)"] = written(flown.gps_altitude_m + 2000.0, 0)
    recording = read(tmp_path, columns)
    told(recording, "GPS altitude", "ft off the pressure altitude")
    assert np.isfinite(recording.channels["pressure_altitude"]).all()


def test_a_thermometer_that_never_moves_is_told(tmp_path, flown):
    base = iso(flown) | readings(flown)
    # 3000 ft of climb in the plan; twice as much makes it plain
    columns = base | {OAT: ["11.0"] * flown.second.size}
    columns[ALT] = written(500.0 + 1.6 * (flown.altitude_ft - 500.0), 1)
    told(read(tmp_path, columns), "OAT", "does not change over")


@pytest.mark.parametrize("believe", ["", ", believe = true"])
def test_only_what_somebody_says_to_believe_passes_a_contradiction(tmp_path, flown, believe):
    base = iso(flown) | readings(flown)
    columns = replaced(base, {ALT: (ALT, written(flown.altitude_ft * 0.3048, 1))})
    columns["GPS altitude (m)"] = written(flown.gps_altitude_m, 1)
    text = f'pressure_altitude = {{ column = "{ALT}", unit = "ft"{believe} }}'
    if believe:
        told(read(tmp_path, columns, text), "climbs as if its numbers were m")
        return
    with pytest.raises(ImplausibleError, match="climbs as if its numbers were m") as refusal:
        read(tmp_path, columns, text)
    assert "believe" in refusal.value.hint
    corrected = f'pressure_altitude = {{ column = "{ALT}", unit = "m" }}'
    whole = read(tmp_path, columns, corrected).channels["pressure_altitude"]
    np.testing.assert_allclose(whole, flown.altitude_ft * 0.3048, atol=0.06)


def test_a_part_that_is_written_twice_is_told(tmp_path, flown):
    (tmp_path / "twice.csv").write_text(plain(flown) * 2)
    recording = read_recording(tmp_path / "twice.csv")
    told(recording, "repeat an earlier part")
    assert recording.t_s.size == flown.second.size


def test_a_ground_speed_that_rests_through_turns_is_refused(tmp_path, flown):
    base = iso(flown) | readings(flown)
    columns = base | {GS: ["100.0"] * flown.second.size}
    with pytest.raises(ImplausibleError, match="ground speed stood still"):
        read(tmp_path, columns)


def test_a_ground_speed_that_rests_for_a_few_turns_is_left_out_there(tmp_path, flown):
    base = iso(flown) | readings(flown)
    recording = read(tmp_path, base | {GS: held(base[GS], 300, 520)})
    told(recording, "ground speed stood still", "left out there")
    assert np.isnan(recording.channels["ground_speed"][300:520]).all()
    assert np.isfinite(recording.channels["track"]).all()


def test_a_pressure_altitude_that_rests_while_the_air_grows_colder_is_refused(tmp_path, flown):
    base = iso(flown) | readings(flown)
    with pytest.raises(ImplausibleError, match="pressure altitude stood still"):
        read(tmp_path, base | {ALT: ["-100"] * flown.second.size})


def test_whole_knots_may_rest_through_one_turn_in_calm_air(tmp_path, flown):
    base = iso(flown) | readings(flown)
    columns = base | {GS: [f"{float(cell):.0f}" for cell in held(base[GS], 300, 400)]}
    assert not any("stood still" in warning for warning in read(tmp_path, columns).warnings)
