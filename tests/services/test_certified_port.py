"""Every point of a port that exists is solved and counts, alone and with the others."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from pathlib import Path

import pytest

from fleetcal.services.flights.air_taken import stated_air
from fleetcal.services.flights.reduce_flight import preview_flight
from fleetcal.services.flights.reduction import FlightDetails, Reduction
from fleetcal.services.flights.settings_file import ReductionSettings
from tests.certified_port import POINTS, PRINTED, SHEET, kappa_of, legs

AMBIENT = FlightDetails(airframe=None, air=stated_air(temperature_shows="ambient"))


def reduced(folder: Path, flaps: str, pairs: Sequence[tuple[int, int]]) -> Reduction:
    sheet = folder / "legs.csv"
    rows = (legs(run, flaps, ias, cas) for run, (ias, cas) in enumerate(pairs, 1))
    sheet.write_text(SHEET + "".join(rows), encoding="utf-8")
    return preview_flight(sheet, AMBIENT, ReductionSettings())


def assert_all_count(done: Reduction, pairs: Sequence[tuple[int, int]]) -> None:
    assert not done.refused
    assert len(done.runs) == len(pairs)
    for run, (ias, cas) in zip(done.runs, pairs, strict=True):
        assert run.accepted, run.reason
        assert run.vic_kt == pytest.approx(ias, abs=1e-6)
        assert run.kappa == pytest.approx(kappa_of(ias, cas), abs=0.01)
        assert run.vic_kt + run.dvpc_kt == pytest.approx(cas, abs=0.3)


@pytest.mark.parametrize(("flaps", "ias", "cas"), POINTS)
def test_a_printed_point_alone_in_a_sheet_counts(
    flaps: str, ias: int, cas: int, tmp_path: Path
) -> None:
    assert_all_count(reduced(tmp_path, flaps, [(ias, cas)]), [(ias, cas)])


@pytest.mark.parametrize("flaps", PRINTED)
def test_all_printed_points_of_a_flap_setting_count_together(flaps: str, tmp_path: Path) -> None:
    assert_all_count(reduced(tmp_path, flaps, PRINTED[flaps]), PRINTED[flaps])


SLOWEST_TWO = [(flaps, PRINTED[flaps][:2]) for flaps in PRINTED]
NEAR_EACH_OTHER = [
    (flaps, pair) for flaps in PRINTED for pair in itertools.pairwise(PRINTED[flaps])
]


@pytest.mark.parametrize(("flaps", "pairs"), [*SLOWEST_TWO, *NEAR_EACH_OTHER])
def test_any_two_printed_neighbours_count(
    flaps: str, pairs: Sequence[tuple[int, int]], tmp_path: Path
) -> None:
    assert_all_count(reduced(tmp_path, flaps, pairs), pairs)


def test_a_large_error_is_doubted_in_one_sentence(tmp_path: Path) -> None:
    (doubt,) = reduced(tmp_path, "10", [(40, 51)]).warnings
    assert doubt == (
        "run 1: the airspeed is off by +27 %, more than most static ports make; nothing "
        "contradicts that, so it counts, but check the units of airspeed, altitude and temperature"
    )
    assert not reduced(tmp_path, "10", [(80, 80)]).warnings


@pytest.mark.parametrize(
    ("stated", "assumed"),
    [("ias_kt", "ias"), ("pressure_altitude_ft", "pressure_altitude"), ("oat_degc", "oat")],
)
def test_a_large_error_does_not_count_where_a_unit_is_only_assumed(
    stated: str, assumed: str, tmp_path: Path
) -> None:
    sheet = tmp_path / "legs.csv"
    rows = legs(1, "10", 40, 51) + legs(2, "10", 80, 80)
    sheet.write_text(SHEET.replace(stated, assumed) + rows, encoding="utf-8")
    large, small = preview_flight(sheet, AMBIENT, ReductionSettings()).runs
    assert not large.accepted
    assert f"no unit is written with '{assumed}'" in large.reason
    assert small.accepted
