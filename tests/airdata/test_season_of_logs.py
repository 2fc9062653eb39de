"""A season of logs is a folder that the program reads: same numbers, fleet, list and truth."""

import csv

import numpy as np
import pytest

from fleetcal.flightlog.recording import read_recording
from seed_demo.air import FT, KT
from tests.airdata.simulations.ordinary import ORDINARY_DAY, ordinary_flights
from tests.airdata.simulations.season import TRUTH_AT_KT, write_season

pytestmark = pytest.mark.long


@pytest.fixture(scope="module")
def season(tmp_path_factory):
    folder = tmp_path_factory.mktemp("season")
    write_season(folder, 2, 2, 5)
    return folder


def _rows(path):
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_a_log_is_read_as_it_was_flown(season):
    fleet = ordinary_flights(ORDINARY_DAY, 2, 2, 5)
    listed = _rows(season / "flights.csv")
    flown = [flight for airframe in fleet for flight in airframe.flights]
    for row, flight in zip(listed, flown, strict=True):
        recording = read_recording(season / "logs" / row["file"])
        assert not recording.warnings
        read, log = recording.channels, flight.log
        np.testing.assert_allclose(recording.t_s, log.time_s)
        for quantity, values, step in (
            ("indicated_airspeed", log.airspeed_mps, 0.1 * KT),
            ("pressure_altitude", log.altitude_m, FT),
            ("gps_altitude", log.height_m, FT),
            ("temperature", log.temperature_k, 0.1),
            ("ground_speed", np.hypot(log.east_mps, log.north_mps), 0.1 * KT),
        ):
            np.testing.assert_allclose(read[quantity], values, atol=0.51 * step, err_msg=quantity)
        off = read["track"] - np.arctan2(log.east_mps, log.north_mps)
        np.testing.assert_allclose(np.sin(off), 0.0, atol=np.radians(0.051))
        assert np.cos(off).min() > 0.0


def test_the_truth_is_that_of_the_ports(season):
    fleet = ordinary_flights(ORDINARY_DAY, 2, 1, 5)
    for row, airframe in zip(_rows(season / "truth.csv"), fleet, strict=True):
        for at in TRUTH_AT_KT:
            expected = airframe.kappa_at(at * KT)
            assert float(row[f"kappa_at_{at}_kt"]) == pytest.approx(float(expected), abs=1e-5)
