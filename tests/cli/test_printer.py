"""Whatever is printed for people fits the terminal, and the answer stands out."""

from __future__ import annotations

from dataclasses import dataclass

import pytest

from fleetcal.cli.failure import Failure
from fleetcal.cli.output import ALWAYS, DETAIL, SPARE, Column, View, as_text, text_table
from fleetcal.cli.prose import Laid, terminal_width, wrapped
from fleetcal.errors import DataError

pytestmark = pytest.mark.any_store("opens no store")


@dataclass(frozen=True, kw_only=True)
class Speed:
    ias_kt: float
    low_kt: float | None
    high_kt: float | None
    place: str = "up"
    note: str = ""
    secret: int = 1


@dataclass(frozen=True)
class Speeds:
    rows: tuple[Speed, ...]


TWO = (
    Speed(ias_kt=60.0, low_kt=1.25, high_kt=2.0, note="smooth air over the bay all morning"),
    Speed(ias_kt=100.0, low_kt=None, high_kt=None, note="rough"),
)
IAS = Column("ias_kt", 0, importance=ALWAYS)
RANGE = Column("low_kt", 1, sign=True, to="high_kt", heading="the group's mean")


@pytest.fixture(autouse=True)
def usual_lines(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.setattr("fleetcal.cli.prose.WIDEST_PROSE", 120)
    monkeypatch.delenv("FORCE_COLOR", raising=False)


def test_a_line_has_eighty_letters_without_a_terminal_and_sixty_at_least(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.delenv("COLUMNS")
    assert terminal_width() == 80
    monkeypatch.setenv("COLUMNS", "20")
    assert terminal_width() == 60


@pytest.mark.parametrize(("columns", "longest"), [(60, 60), (80, 80), (300, 120)])
def test_a_sentence_is_wrapped_at_words_and_hangs(
    columns: int, longest: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", str(columns))
    words = ["Note:", *["aircraft"] * 60]
    lines = wrapped(" ".join(words))
    assert max(map(len, lines)) <= longest
    assert max(map(len, lines)) > longest - 11
    assert all(line.startswith("  a") for line in lines[1:])
    assert " ".join(lines).split() == words


def test_a_command_to_copy_and_a_number_with_its_unit_are_not_broken() -> None:
    command = '\'fleetcal contrast "wing boom" "tail-boom flush pair" --details\''
    lines = wrapped(f"Whether they differ in earnest is known by {command}, which says more of it.")
    assert any(command in line for line in lines)
    for length in range(60, 80):
        text = f"{'x' * length} 12.5 kt and 95 % of all that was flown that day"
        assert "12.5 kt" in " ".join(wrapped(text))
        assert all(not line.endswith(("12.5", "95")) for line in wrapped(text))


def test_a_line_that_is_laid_out_already_stays_as_it_is() -> None:
    line = Laid("fleetcal " + "x" * 200)
    assert wrapped(line) == [line]


def test_a_range_stands_in_one_cell_and_units_on_a_line_of_their_own() -> None:
    assert text_table(TWO, [IAS, RANGE]) == [
        "      the group's",
        "IAS          mean",
        " kt            kt",
        " 60  +1.2 to +2.0",
        "100             -",
    ]


def test_a_long_text_is_wrapped_inside_its_column(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "60")
    note = "the air was smooth over the bay all morning and rough over the hills in the afternoon"
    rows = (Speed(ias_kt=60.0, low_kt=1.0, high_kt=2.0, note=note),)
    lines = text_table(rows, [IAS, Column("note", wraps=True), RANGE])
    assert max(map(len, lines)) <= 60
    assert len(lines) > 4
    middle = " ".join(line[5:].removesuffix("+1.0 to +2.0") for line in lines[3:])
    assert " ".join(middle.split()) == note


def test_the_least_important_columns_are_left_out_and_named(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setenv("COLUMNS", "60")
    wide = "w" * 45
    rows = [Speed(ias_kt=1.0, low_kt=1.0, high_kt=2.0, place=wide, note="n")]
    lines = text_table(rows, [Column("place", importance=SPARE), RANGE, IAS, Column("note")])
    assert wide not in "\n".join(lines)
    assert lines[1].split() == ["mean", "IAS", "note"]
    assert " ".join(" ".join(lines).split()).endswith("would be too wide: place; see --details.")


def test_a_table_that_cannot_fit_is_turned(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "60")
    rows = [
        Speed(ias_kt=1.0, low_kt=1.0, high_kt=2.0, place="a" * 50),
        Speed(ias_kt=2.0, low_kt=1.0, high_kt=3.0, place="b" * 50),
    ]
    always = [
        Column("place", importance=ALWAYS),
        IAS,
        Column("low_kt", 1, to="high_kt", heading="band", importance=ALWAYS),
    ]
    assert text_table(rows, always) == [
        f"place     {'a' * 50}",
        "IAS, kt   1",
        "band, kt  1.0 to 2.0",
        "",
        f"place     {'b' * 50}",
        "IAS, kt   2",
        "band, kt  1.0 to 3.0",
    ]


def test_what_all_rows_share_stands_above_and_sections_have_a_line_each() -> None:
    columns = [Column("place", once=True), Column("note", section=True), IAS]
    assert text_table(TWO, columns) == [
        "All: place up.",
        "IAS",
        " kt",
        "",
        "smooth air over the bay all morning:",
        " 60",
        "",
        "rough:",
        "100",
    ]


def test_a_column_for_those_who_want_everything_is_not_shown_otherwise() -> None:
    lines = text_table(TWO, [IAS, Column("secret", importance=DETAIL)])
    assert "secret" not in "\n".join(lines)


VIEW: View[Speeds] = View(
    kind="speeds",
    rows="rows",
    columns=[IAS, RANGE],
    answer=lambda found: [f"There are {len(found.rows)} speeds."],
    foot=lambda found: ["Beware: one of them is rough."],
)


def test_the_answer_comes_first() -> None:
    assert as_text(Speeds(TWO), VIEW).splitlines()[:3] == [
        "There are 2 speeds.",
        "",
        "      the group's",
    ]


def test_bold_and_colour_are_for_terminals_or_whoever_forces_them_and_carry_no_meaning(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    plain = as_text(Speeds(TWO), VIEW)
    assert "\x1b" not in plain
    monkeypatch.setenv("FORCE_COLOR", "1")
    styled = as_text(Speeds(TWO), VIEW)
    assert "\x1b[1mThere are 2 speeds.\x1b[0m" in styled
    assert "\x1b[33mBeware:" in styled
    for code in ("\x1b[1m", "\x1b[33m", "\x1b[0m"):
        styled = styled.replace(code, "")
    assert styled == plain
    monkeypatch.setenv("NO_COLOR", "1")
    assert as_text(Speeds(TWO), VIEW) == plain


@pytest.mark.parametrize("terminal", [True, False])
def test_an_error_is_wrapped_at_a_terminal_and_one_line_for_programs(
    terminal: bool, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("sys.stderr.isatty", lambda: terminal)
    words = "the log has no track, and " * 6
    Failure(DataError(words, "look at the log")).show()
    lines = capsys.readouterr().err.splitlines()
    assert lines[0].startswith("Error: the log has no track")
    assert (max(map(len, lines)) <= 80) is terminal
    assert lines[-1] == "Hint: look at the log"
    assert (len(lines) == 2) is not terminal
