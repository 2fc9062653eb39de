"""The report of one flight: what the command says, as a page and on paper."""

from __future__ import annotations

import html
import re
import subprocess
from pathlib import Path

import click
import pytest

from tests.cli.command_line import Program, folder_content

pytestmark = pytest.mark.any_store("reduces flights, which are stored as by other tests")


@pytest.fixture
def log(folder: Path, rough_log: str) -> Path:
    path = folder / "flight.csv"
    path.write_text(rough_log)
    return path


def plain(page: str) -> str:
    """The words of a page, without its drawings."""
    page = re.sub(r"<(style|svg)\b.*?</\1>", " ", page, flags=re.DOTALL)
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", page)).split())


@pytest.mark.long
def test_the_report_says_what_the_command_says(program: Program, log: Path, folder: Path) -> None:
    text = program.output("reduce", log, "--out", folder / "report.html")
    page = (folder / "report.html").read_text(encoding="utf-8")
    answer = " ".join(text.split("\n\n")[0].split())
    assert answer
    assert answer in plain(page)
    for row in re.findall(r"^ +\d+ .*±.*$", text, flags=re.MULTILINE):
        cells = re.split(r"  +", row.strip())
        assert " ".join(cells) in plain(page)
    for part in ("What to add", "What is in doubt", "Before you use this", "The flight"):
        assert part in plain(page)
    assert "Does your temperature display show the outside air" in plain(page)
    assert "group of aircraft" not in plain(page)


@pytest.mark.long
def test_the_report_loads_nothing_and_its_colours_follow_the_reader(
    program: Program, log: Path, folder: Path
) -> None:
    program.output("reduce", log, "--out", folder / "report.html")
    page = (folder / "report.html").read_text(encoding="utf-8")
    assert not re.findall(r"(?:src|href)=\"(?!#|data:image/svg)", page)
    assert "prefers-color-scheme: dark" in page
    assert not re.findall(r"(?:fill|stroke): #", page.replace("#ffffff", ""))
    ids = re.findall(r'\bid="([^"]+)"', page)
    assert len(ids) == len(set(ids))


@pytest.mark.long
def test_the_paper_is_one_page(program: Program, log: Path, folder: Path) -> None:
    program.output("reduce", log, "--out", folder / "report.pdf")
    content = (folder / "report.pdf").read_bytes()
    assert len(re.findall(rb"/Type /Page\b", content)) == 1


@pytest.mark.long
def test_the_paper_has_the_same_answer(program: Program, log: Path, folder: Path) -> None:
    text = program.output("reduce", log, "--out", folder / "report.pdf")
    read = subprocess.run(
        ["pdftotext", "-layout", folder / "report.pdf", "-"], capture_output=True, check=True
    )
    words = " ".join(read.stdout.decode().split())
    assert " ".join(text.split("\n\n")[0].split()) in words
    assert "Advisory only, not approved data." in words


@pytest.mark.long
def test_the_report_is_in_the_units_that_people_choose(
    program: Program, log: Path, folder: Path
) -> None:
    text = program.output("reduce", log, "--speed-unit", "mph", "--out", folder / "report.html")
    page = plain((folder / "report.html").read_text(encoding="utf-8"))
    assert " ".join(text.split("\n\n")[0].split()) in page
    assert "mph calibrated" in page
    assert not re.findall(r"\d kt\b", page)


@pytest.mark.long
def test_opening_shows_the_report_and_keeps_it(
    program: Program, log: Path, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    shown: list[str] = []
    monkeypatch.setattr(click, "launch", shown.append)
    before = folder_content(folder)
    program.output("reduce", log, "--open")
    assert folder_content(folder) == before
    (path,) = shown
    assert Path(path).suffix == ".html"
    assert "Before you use this" in Path(path).read_text(encoding="utf-8")
    Path(path).unlink()
    Path(path).parent.rmdir()
    program.output("reduce", log, "--open", "--out", folder / "mine.pdf")
    assert shown[1:] == [str(folder / "mine.pdf")]


def test_words_of_a_file_are_harmless_in_a_report(
    program: Program, folder: Path, log: Path
) -> None:
    odd = folder / "<b>&flight.csv"
    odd.write_text(log.read_text())
    program.output("reduce", odd, "--out", folder / "report.html")
    page = (folder / "report.html").read_text(encoding="utf-8")
    assert "<b>" not in page
    assert "&lt;b&gt;&amp;flight.csv" in page
