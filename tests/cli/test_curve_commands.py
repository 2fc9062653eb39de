"""Curves, verdicts and pages through the commands."""

from __future__ import annotations

import csv
import io
import json
import math
import os
import re
import subprocess
import sys
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest

import fleetcal
from tests.cli.command_line import Program, folder_content
from tests.cli.invented_fleet import MID, PAIRING, TAIL, WING
from tests.store_places import copy_store, held

pytestmark = pytest.mark.any_store("judges numbers by queries that other tests send")

FULL_WING, FULL_TAIL, FULL_MID = (
    f"{port} / {PAIRING[0]} / {PAIRING[1]}" for port in (WING, TAIL, MID)
)
EVERY_RESULT = [
    ("groups",),
    ("curve", TAIL),
    ("curve", FULL_TAIL, "--altitude-ft", "6000", "--weight-kg", "560", "--step", "10"),
    ("standing", "C-03"),
    ("outliers",),
    ("points", "list"),
    ("show", "fleet"),
]
KINDS = {
    "groups": ("groups", "groups"),
    "curve": ("curve", "rows"),
    "standing": ("standing", "airframes"),
    "outliers": ("outliers", "airframes"),
    "points": ("points", "points"),
    "show": ("fleet", "fits"),
}


@pytest.fixture(scope="module")
def flown(flown_file: str, tmp_path_factory: pytest.TempPathFactory) -> Program:
    """The program on a store that no test here changes."""
    folder = tmp_path_factory.mktemp("read only in spirit")
    return Program(copy_store(flown_file, folder / "store.sqlite3"))


@pytest.fixture(scope="module")
def few(few_file: str, tmp_path_factory: pytest.TempPathFactory) -> Program:
    """The same with few airframes: C-03 of six at one static source is odd, another has three."""
    folder = tmp_path_factory.mktemp("few in spirit")
    return Program(copy_store(few_file, folder / "store.sqlite3"))


@pytest.fixture(scope="module")
def judged(flown: Program) -> dict[str, Any]:
    """Every verdict, as JSON."""
    return flown.json("outliers")


@pytest.mark.parametrize("words", EVERY_RESULT, ids=lambda words: " ".join(words[:2]))
def test_every_result_comes_as_versioned_json_and_as_csv(
    words: tuple[str, ...], few: Program
) -> None:
    kind, rows = KINDS[words[0]]
    found = few.json(*words)
    assert (found["kind"], found["format_version"]) == (kind, 1)
    assert found[rows]
    table = list(csv.reader(io.StringIO(few.output(*words, "--format", "csv"))))
    assert len(table) == len(found[rows]) + 1
    assert {len(line) for line in table} == {len(table[0])}
    assert set(table[0]) <= set(found[rows][0])
    assert "nan" not in {cell.casefold() for line in table for cell in line}


@pytest.mark.long
@pytest.mark.parametrize("words", EVERY_RESULT, ids=lambda words: " ".join(words[:2]))
@pytest.mark.parametrize("output_format", ["table", "csv", "json"])
def test_the_same_store_gives_the_same_bytes_and_stays_as_it_is(
    words: tuple[str, ...], output_format: str, few: Program
) -> None:
    before = held(few.store)
    first = few.output(*words, "--format", output_format)
    assert few.output(*words, "--format", output_format) == first
    assert held(few.store) == before


@pytest.mark.long
@pytest.mark.parametrize("words", [("curve", TAIL), ("standing", "C-03"), ("outliers",)])
def test_results_carry_the_caution_and_the_assumption(words: tuple[str, ...], few: Program) -> None:
    brief = few.output(*words)
    assert "Advisory only" in brief
    assert "pitot pressure" not in brief
    for text in (few.output(*words, "--details"), "\n".join(few.json(*words)["caution"])):
        assert "Advisory only" in text
        assert "change no marking or limit" in text
        assert "pitot pressure is taken as free of error" in text


@pytest.mark.long
def test_a_row_of_a_curve_is_whole_or_empty_with_a_reason(flown: Program) -> None:
    values = (
        *("cas_kt", "correction_kt", "mean_low_kt", "mean_high_kt", "next_low_kt"),
        *("next_high_kt", "altitude_correction_ft"),
    )
    found = flown.json("curve", WING, "--step", "2.5")
    empty = [row for row in found["rows"] if row["correction_kt"] is None]
    for row in empty:
        assert [row[name] for name in values] == [None] * len(values)
        assert row["note"] == "not flown at 600 kg"
        assert row["airframes"] == 0
    few = [row for row in found["rows"] if row["airframes"] in (1, 2)]
    assert few
    for row in few:
        assert re.fullmatch(r"flown by \d airframes? only, which is why .*", row["note"])
    whole = [row for row in found["rows"] if row["correction_kt"] is not None]
    assert len(whole) > 20
    for row in whole:
        assert (row["note"] == "") is (row["airframes"] >= 3)
        assert row["cas_kt"] == pytest.approx(row["ias_kt"] + row["correction_kt"], abs=1e-9)
        assert row["next_low_kt"] < row["mean_low_kt"] < row["correction_kt"]
        assert row["correction_kt"] < row["mean_high_kt"] < row["next_high_kt"]
        assert row["correction_kt"] * row["altitude_correction_ft"] >= 0.0
    table = flown.output("curve", WING, "--step", "2.5")
    for note in {row["note"] for row in (*empty, *few)}:
        assert f" kt: {note}." in " ".join(table.split())


@pytest.mark.long
def test_speeds_of_a_curve_follow_the_weight(flown: Program) -> None:
    heavy, light = (
        flown.json("curve", WING, "--weight-kg", weight, "--step", 1) for weight in (600, 500)
    )
    assert (heavy["weight_kg"], light["weight_kg"]) == (600.0, 500.0)
    reached = [
        [row["ias_kt"] for row in curve["rows"] if row["correction_kt"] is not None]
        for curve in (heavy, light)
    ]
    for end in (0, -1):
        assert reached[1][end] == pytest.approx(reached[0][end] * math.sqrt(500 / 600), abs=3.0)


@pytest.mark.long
def test_a_curve_of_order_0_is_one_kappa_whose_spread_has_no_tilt(flown: Program) -> None:
    level, line = (flown.json("curve", TAIL, "--order", order) for order in (0, 1))
    assert (level["order"], level["spread_tilt_kappa"]) == (0, 0.0)
    assert line["spread_tilt_kappa"] > 0.0
    known = [row for row in level["rows"] if row["correction_kt"] is not None]
    shares = [row["correction_kt"] / row["ias_kt"] for row in known]
    assert len(shares) > 3
    # qc goes with the square of the speed, but for less than 1 % at these speeds
    assert shares == pytest.approx([shares[0]] * len(shares), rel=0.01)


@pytest.mark.long
def test_a_group_is_found_in_any_case_and_all_pairings_by_the_source_alone(flown: Program) -> None:
    assert flown.json("curve", FULL_WING.upper())["group"] == FULL_WING
    alone = flown.json("curve", WING)
    assert (alone["group"], alone["engine"], alone["propeller"]) == (WING, None, None)


def test_the_groups_are_counted(flown: Program) -> None:
    found = {line["group"].split(" / ")[0]: line for line in flown.json("groups")["groups"]}
    assert {name: line["airframes"] for name, line in found.items()} == {MID: 3, TAIL: 8, WING: 10}
    assert all(line["enough"] for line in found.values())
    assert {line["rejected_points"] for line in found.values()} == {0}


@pytest.mark.long
def test_the_two_planted_airframes_and_no_others_are_outside(judged: dict[str, Any]) -> None:
    outside = {row["airframe"]: row for row in judged["airframes"] if row["outside"]}
    # In a fleet where airframes differ by 0.010 in kappa one has 0.15 more, one 0.09 less.
    assert set(outside) == {"C-03", "C-14"}
    # The correction is larger where the indicator reads too little.
    assert outside["C-03"]["largest_departure_kt"] > 2.0
    assert "slower than the group" in outside["C-03"]["reason"]
    assert outside["C-14"]["largest_departure_kt"] < -2.0
    assert "faster than the group" in outside["C-14"]["reason"]
    for row in outside.values():
        assert row["verdict"] == "outside"
        assert row["adjusted_p_value"] < 0.05
        assert row["p_value"] <= row["adjusted_p_value"]
        assert "a shift" in row["reason"]
        for place in row["rows"]:
            assert place["low_kt"] < place["departure_kt"] < place["high_kt"]


def test_a_group_of_three_gets_no_verdict_and_the_reason(judged: dict[str, Any]) -> None:
    small = [row for row in judged["airframes"] if row["group"].startswith(MID)]
    assert [row["airframe"] for row in small] == ["C-19", "C-20", "C-21"]
    for row in small:
        assert row["verdict"] == "undecided"
        assert row["outside"] is False
        assert row["reason"] == "only 2 other airframes in the group; a verdict needs 3"
        assert row["adjusted_p_value"] is None
        assert row["rows"] == []
    assert judged["judged"] == 18


@pytest.mark.long
def test_verdicts_may_be_narrowed_to_a_group_and_stay_the_same(
    flown: Program, judged: dict[str, Any]
) -> None:
    found = flown.json("outliers", FULL_WING)["airframes"]
    assert found == [row for row in judged["airframes"] if row["group"] == FULL_WING]


@pytest.mark.long
def test_the_standing_of_one_airframe_is_its_verdict(
    flown: Program, judged: dict[str, Any]
) -> None:
    found = flown.json("standing", "C-14")
    assert found["kind"] == "standing"
    assert found["airframes"] == [r for r in judged["airframes"] if r["airframe"] == "C-14"]
    text = flown.output("standing", "C-14")
    assert text.startswith("C-14 is outside its group (")
    assert "departs from" in text


@pytest.mark.parametrize(
    ("words", "exit_code"),
    [
        (("outliers",), 0),
        (("outliers", "--fail-if-outside"), 6),
        (("outliers", FULL_MID, "--fail-if-outside"), 0),
        (("standing", "C-03", "--fail-if-outside"), 6),
        (("standing", "C-03"), 0),
        (("standing", "C-02", "--fail-if-outside"), 0),
        (("standing", "C-07", "--fail-if-outside"), 0),
    ],
)
def test_a_raised_flag_shows_in_the_exit_code_when_that_is_asked_for(
    words: tuple[str, ...], exit_code: int, few: Program
) -> None:
    result = few.run(*words, "--format", "json")
    assert result.exit_code == exit_code
    assert json.loads(result.stdout)["airframes"]
    assert result.stderr == ""


class Links(HTMLParser):
    """Collects what a page would fetch, and what it would run."""

    def __init__(self) -> None:
        super().__init__()
        self.fetched: list[str] = []
        self.tags: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        for name, value in attrs:
            if name in ("src", "href", "srcset", "data", "poster", "xlink:href", "action"):
                self.fetched.append(value or "")


@pytest.fixture(scope="module")
def pages(flown: Program, tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    """What publishing a group writes."""
    folder = tmp_path_factory.mktemp("published") / "pages"
    told = flown.output("publish", WING, "--out", folder, "--date", "2024-05-06")
    assert {Path(line) for line in told.splitlines()} == set(folder.iterdir())
    return folder_content(folder)


@pytest.mark.long
def test_a_published_page_needs_nothing_else(pages: dict[str, bytes]) -> None:
    (name,) = [name for name in pages if name.endswith(".html")]
    text = pages[name].decode("utf-8")
    links = Links()
    links.feed(text)
    assert [link for link in links.fetched if not link.startswith(("#", "data:"))] == []
    assert not {"script", "iframe", "object", "embed", "img"} & set(links.tags)
    assert re.findall(r"<link [^>]*>", text) == re.findall(
        r'<link rel="icon" href="data:[^>]*>', text
    )
    assert "@import" not in text
    assert re.findall(r"url\((?!#)", text) == []
    # Addresses that only name a vocabulary are never fetched.
    fetchable = set(re.findall(r"https?://[^\s\"'<>]+", text))
    assert {a for a in fetchable if not a.startswith("http://www.w3.org/")} == set()
    assert "<table" in text
    assert "<svg" in text
    assert WING in text
    assert "2024-05-06" in text
    assert "licensed practice" in text


@pytest.mark.long
def test_the_published_table_says_what_the_curve_says(
    flown: Program, pages: dict[str, bytes]
) -> None:
    (name,) = [name for name in pages if name.endswith(".csv")]
    published = list(csv.DictReader(io.StringIO(pages[name].decode("utf-8"), newline="")))
    rows = flown.json("curve", WING)["rows"]
    assert len(published) == len(rows)
    for shown, row in zip(published, rows, strict=True):
        for column in ("ias_kt", "cas_kt", "correction_kt", "mean_low_kt", "next_high_kt"):
            if row[column] is None:
                assert shown[column] == ""
            else:
                assert float(shown[column]) == pytest.approx(row[column], abs=0.0501)
        assert shown["note"] == row["note"]
        assert "Advisory" in shown["caution"]


@pytest.mark.long
def test_publishing_twice_writes_the_same_bytes(
    flown: Program, pages: dict[str, bytes], tmp_path: Path
) -> None:
    again = tmp_path / "deeper" / "again"
    flown.output("publish", WING, "--out", again, "--date", "2024-05-06")
    assert folder_content(again) == pages
    flown.output("publish", WING, "--out", again, "--date", "2024-05-06")
    assert folder_content(again) == pages


def test_a_group_that_cannot_be_fitted_publishes_nothing(flown: Program, tmp_path: Path) -> None:
    result = flown.run("publish", WING, "--flap-setting", "20", "--out", tmp_path / "pages")
    assert result.exit_code == 5
    assert not (tmp_path / "pages").exists()


@pytest.mark.long
@pytest.mark.parametrize("hash_seed", ["7", "8"])
def test_another_process_prints_the_same_bytes(few: Program, hash_seed: str) -> None:
    words = ("--store", few.store, "curve", TAIL, "--format", "json")
    done = subprocess.run(
        [sys.executable, "-W", "error", "-m", "fleetcal", *words],
        cwd=Path(fleetcal.__file__).parents[1],
        env={**os.environ, "PYTHONHASHSEED": hash_seed},
        capture_output=True,
        check=True,
    )
    assert done.stderr == b""
    assert done.stdout.decode("utf-8") == few.output("curve", TAIL, "--format", "json")
