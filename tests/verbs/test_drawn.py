"""Figures show the numbers of the frame, and a notebook the sentences first."""

from __future__ import annotations

import base64
import re
from collections.abc import Iterable
from html import unescape
from pathlib import Path

import numpy as np
import pytest
from matplotlib.figure import Figure
from pandas import Series

import fleetcal
from fleetcal.services.cautions import SHORT_CAUTION
from tests.cli.command_line import Program


def is_drawn(figure: Figure, across: Iterable[float], up: Iterable[float]) -> bool:
    """Whether some line goes through all these places."""
    x, y = np.asarray([*across], dtype=float), np.asarray([*up], dtype=float)
    for axes in figure.axes:
        for line in axes.lines:
            along, height = (np.asarray(data, dtype=float) for data in line.get_data())
            known = np.isfinite(height)
            if known.sum() < 2 or along[known].min() > x.min() or along[known].max() < x.max():
                continue
            if np.allclose(np.interp(x, along[known], height[known]), y, atol=0.02):
                return True
    return False


def known(*columns: Series) -> list[list[float]]:
    filled = np.all([column.notna() for column in columns], axis=0)
    return [column[filled].to_list() for column in columns]


@pytest.mark.parametrize("name", ["C-01", "group"])
def test_a_curve_is_drawn_through_the_rows_of_its_frame(name: str, few: Program) -> None:
    group = fleetcal.groups(store=few.store).frame()["group"][0] if name == "group" else name
    answer = fleetcal.curve(group, store=few.store)
    frame, figure = answer.frame(), answer.draw()
    across, up, low = known(frame["ias_kt"], frame["correction_kt"], frame["mean_low_kt"])
    assert len(across) > 4
    assert is_drawn(figure, across, up)
    assert not is_drawn(figure, across, [value + 0.5 for value in up])
    assert low < up


def test_a_change_is_drawn_through_the_rows_of_its_frame(few: Program) -> None:
    answer = fleetcal.change("C-01", before="..2024-06-30", after="2024-07-01..", store=few.store)
    frame, figure = answer.frame(), answer.draw()
    assert is_drawn(figure, frame["ias_kt"], frame["difference_kt"])
    assert not is_drawn(figure, frame["ias_kt"], frame["difference_kt"] + 0.5)
    words = " ".join(text.get_text() for text in figure.texts)
    assert SHORT_CAUTION in words
    assert answer.sentences[0].split(";")[0] in words.replace("\n", " ")


@pytest.mark.long
def test_a_standing_and_a_flight_are_drawn_as_the_command_draws_them(
    few: Program, log: Path, folder: Path
) -> None:
    few.output("standing", "C-03", "--out", folder / "theirs.svg")
    few.output("reduce", log, "--out", folder / "flight.svg")
    standing = fleetcal.standing("C-03", store=few.store)
    for answer, file in ((standing, "theirs.svg"), (fleetcal.reduce(log), "flight.svg")):
        theirs = (folder / file).read_text(encoding="utf-8")
        figure = answer.draw()
        ours = [text.get_text() for axes in figure.axes for text in axes.texts]
        ours += [text.get_text() for text in figure.texts]
        shown = {unescape(text).strip() for text in re.findall(r">([^<>]+)<", theirs)}
        lines = {line.strip() for text in ours for line in text.splitlines() if line.strip()}
        assert len(lines) > 5
        assert lines <= shown


def test_a_notebook_shows_sentences_then_the_figure_then_the_table(few: Program) -> None:
    answer = fleetcal.curve("C-01", store=few.store)
    page = answer._repr_html_()
    places = [page.index(part) for part in (answer.sentences[0], "<img ", "<table", SHORT_CAUTION)]
    assert places == sorted(places)
    (data,) = re.findall(r'src="data:image/svg\+xml;base64,([^"]+)"', page)
    assert b"<svg" in base64.b64decode(data)
    headings = re.findall(r"<th>([^<]*)</th>", page)
    assert headings == [name for name in answer.notable if name in answer.frame().columns]


def test_an_answer_without_a_figure_shows_its_table(few: Program) -> None:
    page = fleetcal.groups(store=few.store)._repr_html_()
    assert "<img" not in page
    assert "<th>slowest_kt</th>" in page


@pytest.mark.long
def test_words_of_a_log_do_no_harm_in_a_notebook(log: Path, folder: Path) -> None:
    hostile = folder / "<img src=x onerror=alert(1)>.csv"
    text = log.read_text(encoding="utf-8").replace("OAT (degC)", "OAT <b>x</b> (degC)", 1)
    hostile.write_text(text, encoding="utf-8")
    for answer in (fleetcal.read(hostile), fleetcal.reduce(hostile)):
        page = answer._repr_html_()
        assert "<img src=x" not in page
        assert "<b>x" not in page
    assert "&lt;img src=x onerror" in fleetcal.read(hostile)._repr_html_()
