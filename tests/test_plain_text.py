from __future__ import annotations

import csv
import io

import pytest

from fleetcal.plain_text import (
    MINUS,
    file_stem,
    harmless_cell,
    one_line,
    outward,
    sentence,
    signed,
)
from fleetcal.wording import decimal


@pytest.mark.parametrize(
    ("value", "text"), [(-0.04, "0.0"), (0.04, "0.0"), (-1.26, "-1.3"), (12.0, "12.0")]
)
def test_a_decimal_is_never_minus_zero(value: float, text: str) -> None:
    assert decimal(value) == text


@pytest.mark.parametrize(
    ("low", "high", "text"),
    [(116.94, 119.5, "116 to 120"), (52.8, 54.2, "52 to 55"), (53.0, 54.0, "53 to 54")],
)
def test_a_band_in_whole_numbers_is_rounded_outward(low: float, high: float, text: str) -> None:
    assert outward(low, high) == text
    assert outward(low + 2e-13, high + 2e-13) == text  # what arithmetic leaves is no knot


@pytest.mark.parametrize(
    ("value", "text"), [(0.8, "+0.8"), (-0.8, f"{MINUS}0.8"), (-0.01, "0.0"), (0.0, "0.0")]
)
def test_a_correction_for_people_is_always_signed_unless_it_rounds_to_zero(
    value: float, text: str
) -> None:
    assert signed(value) == text


@pytest.mark.parametrize(
    "text", ["=1+1", "+1", "-1", "@x", " \t=1", "\r\n=1", "\uff1d1", "a;=1", "a; @b"]
)
def test_no_cell_begins_as_a_formula_whether_comma_or_semicolon_separates(text: str) -> None:
    made = harmless_cell(text)
    for part in [made, *made.split(";")]:
        assert part.lstrip()[:1] not in {"=", "+", "-", "@", "\uff1d"}
    assert made.replace("'", "") == one_line(text)


def test_ordinary_text_is_left_as_it_is() -> None:
    for text in ("mid-fuselage raised disc pair", "75 kW four", "3+1 seats, a-b", "C-07"):
        assert harmless_cell(text) == text


def test_control_characters_and_line_ends_become_one_blank() -> None:
    assert one_line(" a\x00b\r\nc\u2028d\x1b\ud800 ") == "a b c d"
    cells = next(csv.reader(io.StringIO(f"{harmless_cell('a' + chr(10) + 'b')},1")))
    assert cells == ["a b", "1"]


def test_a_plain_group_gives_a_plain_file_name() -> None:
    assert file_stem("Corrie 2", "wing boom", "flaps up") == "Corrie_2__wing_boom__flaps_up"


def test_different_names_never_share_a_file() -> None:
    names = [
        ("a b", "c"),
        ("a_b", "c"),
        ("a/b", "c"),
        ("a\\b", "c"),
        ("a", "b", "c"),
        ("a  b", "c"),
        ("a", "b c"),
        ("a__b", "c"),
        ("a", "b__c"),
        ("x" * 300,),
        ("x" * 299 + "y",),
        ("\u00e9",),
        ("\u00e8",),
        ("..",),
        ("",),
        ("-a",),
        ("a", ""),
        ("a ",),
        (".",),
        ("../../etc",),
    ]
    stems = [file_stem(*group) for group in names]
    assert len(set(stems)) == len(names)
    for stem in stems:
        assert "/" not in stem
        assert "\\" not in stem
        assert stem[0].isalnum()
        assert 0 < len(stem.encode()) < 200


def test_words_become_a_sentence_and_a_file_keeps_its_name() -> None:
    assert sentence("no file was chosen") == "No file was chosen."
    assert sentence("Write a unit.") == "Write a unit."
    assert sentence("flight.csv, line 3: no number") == "flight.csv, line 3: no number."
