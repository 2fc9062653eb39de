"""A verb answers what the command answers: its first sentences, and the rows of its CSV."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from pandas import DataFrame

import fleetcal
from fleetcal.services.cautions import SHORT_CAUTION
from fleetcal.verbs import Answer
from tests.cli.command_line import Program

Ask = Callable[[str], Answer[object]]
CASES: dict[str, tuple[tuple[str, ...], Ask]] = {
    "groups": (("groups",), lambda store: fleetcal.groups(store=store)),
    "an own curve": (("curve", "C-01"), lambda store: fleetcal.curve("C-01", store=store)),
    "a group's curve": (
        ("curve", "GROUP", "--step", "10", "--weight-kg", "560", "--without", "C-03"),
        lambda store: fleetcal.curve(
            first_group(store), step=10, weight_kg=560, without=["C-03"], store=store
        ),
    ),
    "a standing": (("standing", "C-03"), lambda store: fleetcal.standing("C-03", store=store)),
    "a change between periods": (
        ("change", "C-01", "--before", "..2024-06-30", "--after", "2024-07-01.."),
        lambda store: fleetcal.change(
            "C-01", before="..2024-06-30", after="2024-07-01..", store=store
        ),
    ),
    "a plan": (
        ("plan", "C-01", "--points", "5", "--wind-kt", "10", "--wind-from-deg", "200"),
        lambda store: fleetcal.plan("C-01", points=5, wind_kt=10, wind_from_deg=200, store=store),
    ),
}


def first_group(store: str) -> str:
    group: str = fleetcal.groups(store=store).frame()["group"][0]
    return group


def csv_of(frame: DataFrame) -> str:
    text: str = frame.to_csv(index=False, lineterminator="\n")
    return text


def words_of(words: tuple[str, ...], store: str) -> Iterator[str]:
    yield from (first_group(store) if word == "GROUP" else word for word in words)


@pytest.mark.long
@pytest.mark.parametrize("case", CASES)
def test_the_frame_is_the_csv_of_the_command(case: str, few: Program) -> None:
    words, ask = CASES[case]
    printed = few.output(*words_of(words, few.store), "--format", "csv")
    assert csv_of(ask(few.store).frame()) == printed
    assert len(printed.splitlines()) > 1


@pytest.mark.parametrize("case", CASES)
def test_the_text_is_what_the_command_prints_first(case: str, few: Program) -> None:
    words, ask = CASES[case]
    printed = few.output(*words_of(words, few.store)).splitlines()
    answer = ask(few.store)
    assert list(answer.sentences) == printed[: len(answer.sentences)]
    assert str(answer) == repr(answer)
    *sentences, last = str(answer).splitlines()
    cautioned = SHORT_CAUTION in printed
    assert [*sentences, last] == [*answer.sentences, *([SHORT_CAUTION] if cautioned else [])]


def test_a_log_is_understood_as_by_the_command(log: Path, few: Program) -> None:
    found = fleetcal.read(log)
    printed_csv = few.output("columns", log, "--format", "csv")
    # the first sample is a text, of which the command makes what no spreadsheet runs
    assert csv_of(found.frame()) == printed_csv.replace(",'-12,", ",-12,")
    printed = few.output("columns", log).splitlines()
    assert list(found.sentences[:3]) == [line for line in printed if line][:3]
    assert found.sentences[3] == "18 steady legs, in 5 runs, of which 4 can be solved."


@pytest.mark.long
def test_a_flight_is_reduced_as_by_the_command(log: Path, few: Program) -> None:
    flight = fleetcal.reduce(log, weight_kg=580, keep=[1, 2], drop=[(1, 4)])
    words = ("reduce", log, "--weight-kg", "580", "--keep", "1", "--keep", "2", "--drop", "1:4")
    assert csv_of(flight.frame()) == few.output(*words, "--format", "csv")
    legs = few.output(*words, "--format", "csv", "--rows", "legs")
    assert csv_of(flight.legs()) == legs
    printed = few.output(*words).splitlines()
    assert list(flight.sentences) == printed[: len(flight.sentences)]
    assert len(flight.sentences) == 3


@pytest.mark.long
def test_the_legs_that_are_read_are_those_that_are_solved(log: Path) -> None:
    found, solved = fleetcal.read(log).legs(), fleetcal.reduce(log).legs()
    places = ["run", "leg", "start_s", "stop_s", "samples"]
    merged = solved.merge(found, on=places, how="left", suffixes=("", "_read"))
    assert len(merged) == len(solved) > 10
    ground = (merged["ground_speed_kt"] - merged["ground_speed_kt_read"]).abs()
    assert float(ground.max()) < 1e-6
    assert float((merged["vic_kt"] - merged["airspeed_kt"]).abs().max()) < 0.2


def test_the_samples_are_those_of_the_file(log: Path, flight_text: str) -> None:
    samples = fleetcal.read(log).samples()
    rows = [row.split(",") for row in flight_text.splitlines()[1:]]
    assert len(samples) == len(rows)
    for place, name, close in (
        (2, "airspeed_kt", 1e-6),
        (3, "pressure_altitude_ft", 1e-6),
        (4, "oat_degc", 1e-6),
        (5, "ground_speed_kt", 1e-6),
    ):
        logged = [float(row[place]) for row in rows]
        assert samples[name].to_list() == pytest.approx(logged, abs=close)


@pytest.mark.long
@pytest.mark.parametrize("form", ["csv", "json"])
def test_a_table_is_published_as_by_the_command(form: str, few: Program, folder: Path) -> None:
    group = first_group(few.store)
    options = ("--formats", form, "--date", "2024-05-06", "--speed-unit", "mph", "--step", "5")
    few.output("publish", group, "--out", folder / "theirs", *options)
    done = fleetcal.publish(
        group,
        folder / "ours",
        store=few.store,
        formats=[form],
        date="2024-05-06",
        speed_unit="mph",
        step=5,
    )
    (theirs,), (ours,) = list((folder / "theirs").iterdir()), list((folder / "ours").iterdir())
    assert ours.read_bytes() == theirs.read_bytes()
    assert done.frame()["path"].to_list() == [str(ours)]
    assert done.sentences == (str(ours),)
