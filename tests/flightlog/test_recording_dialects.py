from __future__ import annotations

from datetime import UTC, datetime

import numpy as np
import pytest

from fleetcal.flightlog import read_recording
from tests.flightlog.log_writer import ROWS, dialects, values

DIALECTS = dialects()
KT = 1852.0 / 3600.0


@pytest.mark.parametrize("name", DIALECTS)
def test_every_dialect_yields_the_same_flight(tmp_path, name):
    path = tmp_path / "log.txt"
    path.write_bytes(DIALECTS[name])
    recording = read_recording(path)
    truth = np.array([values(i) for i in range(ROWS)], dtype=np.float64)
    channels = recording.channels
    assert recording.start_utc == datetime(2024, 5, 2, 10, tzinfo=UTC)
    np.testing.assert_allclose(recording.t_s, np.arange(ROWS), atol=1e-6)
    # the tolerance is half a step of the coarsest dialect
    np.testing.assert_allclose(channels["indicated_airspeed"] / KT, truth[:, 1], atol=1e-3)
    np.testing.assert_allclose(channels["pressure_altitude"] / 0.3048, truth[:, 2], atol=0.1)
    np.testing.assert_allclose(channels["temperature"] - 273.15, truth[:, 3], atol=1e-3)
    np.testing.assert_allclose(channels["ground_speed"] / KT, truth[:, 4], atol=1e-3)
    np.testing.assert_allclose(np.degrees(channels["track"]), truth[:, 5], atol=1e-6)
    assert recording.track_reference == "true"
    assert recording.temperature_kind == "probe"
    assert recording.sample_interval_s == pytest.approx(1.0)
    assert recording.source_name == "log.txt"
    assert len(recording.sha256) == 64
