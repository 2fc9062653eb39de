"""How results become text: numbers, gaps, and signs that could do harm."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import dataclass
from datetime import date
from typing import Any

import pytest

from fleetcal.cli.output import Column, View, as_json, as_text, emit
from fleetcal.cli.verbs import Verb
from fleetcal.services.for_programs import as_csv

pytestmark = pytest.mark.any_store("opens no store")


@dataclass(frozen=True, kw_only=True)
class Line:
    tag: str
    value_kt: float | None
    number: int
    good: bool
    inner: tuple[int, ...] = ()


@dataclass(frozen=True)
class Result:
    name: str
    day: date
    lines: tuple[Line, ...]


VIEW: View[Any] = View(
    kind="invented",
    rows="lines",
    columns=[Column("tag"), Column("value_kt", 1, sign=True), Column("number"), Column("good")],
    head=lambda result: [result.name],
)


def result(*lines: Line, name: str = "head") -> Result:
    return Result(name, date(2024, 5, 6), lines)


def test_columns_stand_under_their_names_numbers_to_the_right() -> None:
    text = as_text(
        result(
            Line(tag="a", value_kt=1.25, number=3, good=True),
            Line(tag="longer", value_kt=-10.0, number=12, good=False),
        ),
        VIEW,
    )
    assert text.splitlines() == [
        "head",
        "",
        "tag     value  no.  good",
        "           kt",
        "a        +1.2    3   yes",
        "longer  -10.0   12    no",
    ]


@pytest.mark.parametrize(
    ("value", "shown"),
    [
        (0.04, "0.0"),
        (-0.04, "0.0"),
        (0.06, "+0.1"),
        (-0.06, "-0.1"),
        (None, "-"),
        (float("nan"), "-"),
    ],
)
def test_a_rounded_zero_has_no_sign_and_a_gap_is_a_dash(value: float | None, shown: str) -> None:
    lines = [
        Line(tag=tag, value_kt=v, number=1, good=True) for tag, v in (("a", 1.0), ("b", value))
    ]
    assert as_text(result(*lines), VIEW).splitlines()[-1].split()[1] == shown


def test_control_signs_are_not_sent_to_a_terminal() -> None:
    text = as_text(
        result(Line(tag="a\x1b[31m\n", value_kt=1.0, number=1, good=True), name="b\x07"), VIEW
    )
    assert "\x1b" not in text
    assert "\x07" not in text
    assert len(text.splitlines()) == 5


def test_json_has_the_kind_the_version_and_no_nan() -> None:
    text = as_json(
        result(
            Line(tag="ä", value_kt=float("nan"), number=1, good=True),
            Line(tag="b", value_kt=float("inf"), number=1, good=True),
        ),
        VIEW,
    )
    found = json.loads(text, parse_constant=lambda name: pytest.fail(name))
    assert (found["kind"], found["format_version"]) == ("invented", 1)
    assert found["day"] == "2024-05-06"
    assert [line["value_kt"] for line in found["lines"]] == [None, None]
    assert found["lines"][0]["tag"] == "ä"


def test_csv_has_every_plain_field_and_harmless_text() -> None:
    text = as_csv(
        [
            Line(tag="=1+1", value_kt=0.1, number=1, good=True, inner=(1, 2)),
            Line(tag='say "a",\nb', value_kt=None, number=2, good=False),
        ]
    )
    rows = list(csv.reader(io.StringIO(text)))
    assert rows[0] == ["tag", "value_kt", "number", "good"]
    assert rows[1] == ["'=1+1", "0.1", "1", "True"]
    assert rows[2][1] == ""
    assert len(rows) == 3


def test_numbers_in_csv_come_back_as_they_were() -> None:
    value = 0.1 + 0.2
    (row,) = csv.DictReader(
        io.StringIO(as_csv([Line(tag="a", value_kt=value, number=1, good=True)]))
    )
    assert float(row["value_kt"]) == value


def test_results_go_to_standard_output(capsys: pytest.CaptureFixture[str]) -> None:
    shown = result(Line(tag="a", value_kt=1.0, number=1, good=True))
    for output_format in ("table", "csv", "json"):
        words = ["--format", output_format]
        command = Verb("invented", shared=("format",), callback=lambda: emit(shown, VIEW))
        command.main(words, standalone_mode=False)
        captured = capsys.readouterr()
        assert captured.out.endswith("\n")
        assert captured.err == ""
