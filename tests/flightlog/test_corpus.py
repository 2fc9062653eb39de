"""Whatever the shape of the file, the same flight gives the same points."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pytest

from fleetcal.services.flights.air_taken import stated_air
from fleetcal.services.flights.reduce_flight import preview_flight
from fleetcal.services.flights.reduction import FlightDetails
from fleetcal.services.flights.settings_file import ReductionSettings
from tests.flightlog.corpus.flown import Flown, fly
from tests.flightlog.corpus.records import icartt, igc, unspeaking
from tests.flightlog.corpus.refused import refused
from tests.flightlog.corpus.shapes import plain, shapes

# the second flight passes midnight in its first box
STARTS = {"by day": (1, 36000.0), "over midnight": (2, 86400.0 - 320.0)}
WITHIN_KT = 0.05
#: Turns count, and a line from position to position cuts their corners.
BY_POSITIONS_KT = 0.08


@cache
def flight(name: str) -> Flown:
    seed, start = STARTS[name]
    return fly(seed, start)


@cache
def files(name: str) -> dict[str, bytes]:
    flown = flight(name)
    return shapes(flown) | {"ICARTT": icartt(flown).encode(), "IGC": igc(flown).encode()}


def points(path: Path, mapping: Path | None = None) -> np.ndarray:
    """Airspeed, true airspeed and correction of each run, kt."""
    probe = stated_air(temperature_shows="probe")
    asked = FlightDetails(airframe=None, mapping=mapping, air=probe)
    reduced = preview_flight(path, asked, ReductionSettings())
    return np.array([(run.vic_kt, run.tas_kt, run.dvpc_kt) for run in reduced.runs])


@pytest.fixture(scope="module")
def expected(tmp_path_factory: pytest.TempPathFactory) -> dict[str, np.ndarray]:
    """Points of the plain file of each flight."""
    folder = tmp_path_factory.mktemp("plain")
    found = {}
    for name in STARTS:
        path = folder / f"{name}.csv"
        path.write_text(plain(flight(name)), encoding="utf-8")
        found[name] = points(path)
        assert found[name].shape == (2, 3)
    return found


def test_the_corpus_is_large() -> None:
    assert len(files("by day")) >= 30


@pytest.mark.parametrize("name", STARTS)
@pytest.mark.parametrize("shape", files("by day"))
def test_every_shape_of_a_flight_gives_the_points_of_the_plain_file(
    shape: str, name: str, expected: dict[str, np.ndarray], tmp_path: Path
) -> None:
    path = tmp_path / "flight.log"
    path.write_bytes(files(name)[shape])
    found = points(path)
    assert found.shape == expected[name].shape
    within = BY_POSITIONS_KT if shape == "positions only" else WITHIN_KT
    np.testing.assert_allclose(found, expected[name], atol=within)


@pytest.mark.long
@pytest.mark.parametrize("shape", refused(flight("by day")))
def test_what_cannot_be_used_is_refused_with_the_true_reason(shape: str, tmp_path: Path) -> None:
    content, kind, named = refused(flight("by day"))[shape]
    path = tmp_path / "flight.log"
    path.write_bytes(content)
    with pytest.raises(kind) as refusal:
        points(path)
    assert named in refusal.value.message
    assert refusal.value.hint


@pytest.mark.parametrize("name", STARTS)
def test_a_table_without_headings_is_read_by_a_mapping(
    name: str, expected: dict[str, np.ndarray], tmp_path: Path
) -> None:
    text, mapping = unspeaking(flight(name))
    (tmp_path / "flight.log").write_text(text)
    (tmp_path / "recorder.toml").write_text(mapping)
    found = points(tmp_path / "flight.log", tmp_path / "recorder.toml")
    np.testing.assert_allclose(found, expected[name], atol=WITHIN_KT)


@pytest.mark.parametrize("name", STARTS)
def test_whole_knots_and_whole_degrees_cost_less_than_half_a_knot(
    name: str, expected: dict[str, np.ndarray], tmp_path: Path
) -> None:
    flown = flight(name)
    path = tmp_path / "flight.log"
    lines = plain(flown).splitlines()
    whole = [lines[0]]
    for line in lines[1:]:
        cells = line.split(",")
        whole.append(",".join([cells[0], *(f"{float(cell):.0f}" for cell in cells[1:])]))
    path.write_text("\n".join(whole))
    np.testing.assert_allclose(points(path), expected[name], atol=0.5)


@pytest.mark.parametrize("rate_hz", [0.2, 0.5, 4.0, 20.0])
def test_the_rate_of_the_log_does_not_matter(rate_hz: float, tmp_path: Path) -> None:
    """Against the truth that was flown: the air is nearly smooth."""
    path = tmp_path / "flight.log"
    path.write_text(plain(fly(3, 36000.0, rate_hz)))
    found = points(path)
    assert found.shape == (2, 3)
    np.testing.assert_allclose(found[:, 0], [90.0, 120.0], atol=0.4)
    impact = 1013.25 * ((1.0 + 0.2 * (found[:, 0] * 0.514444 / 340.294) ** 2) ** 3.5 - 1.0)
    truth = impact * 1.04
    calibrated = 340.294 * np.sqrt(5.0 * ((truth / 1013.25 + 1.0) ** (1.0 / 3.5) - 1.0)) / 0.514444
    np.testing.assert_allclose(found[:, 2], calibrated - found[:, 0], atol=0.35)
