"""What one flight says in sentences: sign, rounding, bands that agree with the table."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from fleetcal.services.flights.flight_sentences import (
    MOST_SENTENCES,
    answer_sentences,
    doubt_sentences,
    refused_sentences,
)
from fleetcal.services.flights.flight_table import flight_table
from fleetcal.services.flights.reduce_flight import preview_flight
from fleetcal.services.flights.reduction import FlightDetails, Reduction, RefusedRun
from fleetcal.services.flights.settings_file import ReductionSettings
from fleetcal.services.flights.speed_answers import PrintedUnits, speed_answers
from tests.cli.hand_legs import leg_sheet


@pytest.fixture(scope="module")
def flown(tmp_path_factory: pytest.TempPathFactory) -> Reduction:
    """A flight of one run, whose numbers the tests replace."""
    path = tmp_path_factory.mktemp("legs") / "legs.csv"
    path.write_text(leg_sheet())
    return preview_flight(path, FlightDetails(airframe=None), ReductionSettings())


def with_runs(flown: Reduction, *runs: dict[str, float | bool | str]) -> Reduction:
    one = replace(flown.runs[0], accepted=True, reason="")
    made = [replace(one, number=n, **run) for n, run in enumerate(runs, 1)]  # type: ignore[arg-type]
    return replace(flown, runs=tuple(made))


def run(vic_kt: float, dvpc_kt: float, band_kt: float, **more: float | bool | str) -> dict[
    str, float | bool | str
]:  # fmt: skip
    height = {"dhpc_ft": 0.0, "U95_dhpc_ft": 20.0}
    return {"vic_kt": vic_kt, "dvpc_kt": dvpc_kt, "U95_as_read_kt": band_kt, **height, **more}


def test_an_indicator_that_needs_less_reads_too_fast(flown: Reduction) -> None:
    # 95.0 - 1.8 = 93.2, 1.8 - 0.7 = 1.1, 1.8 + 0.7 = 2.5
    first = answer_sentences(with_runs(flown, run(95.0, -1.8, 0.7)))[0]
    assert first == (
        "At 95.0 kt your indicator reads 1.8 kt too fast (1.1 to 2.5 at 95 %): the air moved past "
        "at 93.2 kt calibrated (CAS)."
    )


def test_an_indicator_that_needs_more_reads_too_slow(flown: Reduction) -> None:
    both = answer_sentences(with_runs(flown, run(110.0, -1.0, 0.2), run(60.0, 2.0, 0.5)))
    assert both[0].startswith("At 60.0 kt your indicator reads 2.0 kt too slow (1.5 to 2.5")
    assert both[1] == "At 110.0 kt it reads 1.0 kt too fast (0.8 to 1.2): 109.0 kt calibrated."


def test_a_band_that_holds_no_error_reads_right_within_its_further_end(flown: Reduction) -> None:
    first = answer_sentences(with_runs(flown, run(95.0, -0.3, 0.4)))[0]
    assert "reads right within ±0.7 kt (best estimate 0.3 kt too fast)" in first
    exact = answer_sentences(with_runs(flown, run(95.0, 0.01, 0.4)))[0]
    assert "reads right within ±0.4 kt (best estimate: no error)" in exact


@pytest.mark.parametrize("unit", ["kt", "mph", "km/h"])
@pytest.mark.parametrize("vic_kt", [65.25, 65.349, 91.04, 131.749])
@pytest.mark.parametrize("dvpc_kt", [-1.849, -0.95, -0.051, 0.049, 0.35, 2.551])
def test_the_printed_numbers_agree_with_each_other(
    flown: Reduction, vic_kt: float, dvpc_kt: float, unit: str
) -> None:
    result = with_runs(flown, run(vic_kt, dvpc_kt, 0.449))
    sentence = answer_sentences(result, PrintedUnits(unit))[0]
    (ias,) = (float(n) for n in re.findall(rf"At (\S+) {unit}", sentence))
    (cas,) = (float(n) for n in re.findall(rf"(\S+) {unit} calibrated", sentence))
    off = re.findall(rf"(\S+) {unit} too (fast|slow)", sentence)
    error = float(off[0][0]) * (1 if off[0][1] == "fast" else -1) if off else 0.0
    assert round(ias - error, 1) == cas
    (row,) = flight_table(result, PrintedUnits(unit)).rows
    correction, band = (float(part) for part in row[2].split(" ±"))
    assert (float(row[1]), float(row[3]), correction) == (ias, cas, -error)
    if "right" in sentence:
        assert f"±{abs(error) + band:.1f} {unit}" in sentence
    else:
        assert f"({abs(error) - band:.1f} to {abs(error) + band:.1f} " in sentence


def test_the_altimeter_gets_one_sentence(flown: Reduction) -> None:
    high = {"dhpc_ft": -45.0, "U95_dhpc_ft": 25.0}
    result = with_runs(flown, run(70.0, 0.0, 0.5), run(130.0, -1.8, 0.5, **high))
    assert (
        "The static port makes your altimeter read 45 ft too high (20 to 70) at 130.0 kt, the most "
        "of all."
    ) in answer_sentences(result)
    quiet = answer_sentences(with_runs(flown, run(70.0, 0.0, 0.5), run(80.0, 0.0, 0.5)))
    assert (
        "The static port moves your altimeter by no more than 20 ft either way at these speeds."
        in quiet
    )


@pytest.mark.parametrize(
    ("winds", "sentence"),
    [
        (((10.4, 350.0), (11.6, 10.0)), "The wind was 10 to 12 kt from 360° true."),
        (((10.4, 180.0), (10.1, 240.0)), "The wind was 10 kt from between 180° and 240° true."),
        (((1.2, 180.0), (0.6, 90.0)), "There was hardly any wind: 1 kt."),
    ],
)
def test_the_wind_gets_one_sentence(
    flown: Reduction, winds: tuple[tuple[float, float], ...], sentence: str
) -> None:
    runs = [
        run(90.0, 0.0, 0.5, wind_speed_kt=speed, wind_from_deg=direction)
        for speed, direction in winds
    ]
    result = replace(with_runs(flown, *runs), track_reference="true")
    assert answer_sentences(result)[-1] == sentence


def test_what_is_not_accepted_is_no_answer_but_a_doubt(flown: Reduction) -> None:
    bad = run(90.0, 9.0, 0.5, accepted=False, reason="spare legs disagree")
    result = with_runs(flown, run(70.0, 1.0, 0.5), bad)
    assert not any("90.0 kt" in sentence for sentence in answer_sentences(result))
    assert "Run 2 at 90.0 kt is not accepted: spare legs disagree." in doubt_sentences(result)
    assert flight_table(result).headings[-1] == ("accepted", "")
    assert [row[-1] for row in flight_table(result).rows] == ["yes", "no"]
    (none,) = answer_sentences(with_runs(flown, bad))
    assert "no answer that can be relied on" in none


def test_runs_not_accepted_for_the_same_reason_get_one_sentence(flown: Reduction) -> None:
    bad = [run(v, 9.0, 0.5, accepted=False, reason="off alike") for v in (70.0, 90.0)]
    other = run(80.0, 9.0, 0.5, accepted=False, reason="spare legs disagree")
    sentences = doubt_sentences(with_runs(flown, bad[0], other, bad[1]))
    assert "Runs 1, 3 at 70.0, 90.0 kt are not accepted: off alike." in sentences
    assert "Run 2 at 80.0 kt is not accepted: spare legs disagree." in sentences


def test_many_speeds_are_told_by_the_most_telling_ones(flown: Reduction) -> None:
    errors = [0.0, 0.2, 0.1, -3.0, 0.0, 0.1, 2.5, 0.3, 0.1, 0.0]
    runs = [run(60.0 + 5.0 * i, error, 0.4) for i, error in enumerate(errors)]
    assert len(runs) > MOST_SENTENCES
    shown = [s for s in answer_sentences(with_runs(flown, *runs)) if s.startswith("At ")]
    assert [s.split()[1] for s in shown] == ["60.0", "75.0", "90.0", "105.0"]


def test_parts_refused_for_one_reason_share_a_sentence(flown: Reduction) -> None:
    refused = (RefusedRun(2, 2, "too few"), RefusedRun(3, 2, "too few"))
    said = doubt_sentences(replace(flown, refused=refused))
    assert "Runs 2, 3 (2 legs each) were not solved: too few." in said


def test_a_logged_airspeed_of_another_kind_is_no_indicator(flown: Reduction) -> None:
    result = replace(with_runs(flown, run(95.0, -1.8, 0.7)), airspeed_from="impact_pressure")
    assert answer_sentences(result)[0].startswith("At 95.0 kt the logged airspeed reads 1.8 kt")


def test_answers_come_slowest_first(flown: Reduction) -> None:
    result = with_runs(flown, run(110.0, 0.0, 0.5), run(60.0, 0.0, 0.5))
    assert [answer.run for answer in speed_answers(result)] == [2, 1]


def test_other_units_are_rounded_once(flown: Reduction) -> None:
    # 90.5 kt are 104.1 mph, 0.85 kt are 0.978 mph; 104.1 + 1.0 = 105.1 in print
    result = with_runs(flown, run(90.5, 0.85, 0.1, dhpc_ft=100.0))
    units = PrintedUnits("mph", "m")
    first, altimeter, _ = answer_sentences(result, units)
    assert "At 104.1 mph your indicator reads 1.0 mph too slow (0.9 to 1.1 at 95 %)" in first
    assert "105.1 mph calibrated" in first
    assert "30 m too low (24 to 36) at 104.1 mph" in altimeter  # 100 ft and 20 ft
    assert flight_table(result, units).headings[2:6] == (
        *(("add to IAS", "mph"), ("CAS", "mph"), ("TAS", "mph"), ("add to altimeter", "m")),
    )


def test_many_reasons_are_summed_up(flown: Reduction) -> None:
    refused = tuple(RefusedRun(n, 1, f"reason {n}") for n in range(2, 7))
    said = doubt_sentences(replace(flown, refused=refused))
    assert said[0].startswith("5 of 6 runs found were not solved")
    assert len(refused_sentences(replace(flown, refused=refused))) == 5
