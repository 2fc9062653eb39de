"""The cockpit card: what its figures say, read from the drawing itself."""

from __future__ import annotations

import re
from typing import Any

import pytest

from fleetcal.publish.paper import Paper
from fleetcal.publish.pooled_table import PooledTable
from fleetcal.publish.table_card import table_card
from fleetcal.publish.table_form import TableForm
from fleetcal.publish.table_limit import TableLimit
from fleetcal.publish.table_lines import table_lines
from tests.publish.invented_table import invented_readings, invented_table


@pytest.fixture
def drawn_words(monkeypatch: pytest.MonkeyPatch):
    """Return the words of a card, as they are drawn."""

    def words(table: PooledTable) -> list[str]:
        drawn: list[str] = []
        put = Paper.put

        def also_kept(paper: Paper, text: str, *rest: Any, **how: Any) -> None:
            drawn.append(text)
            put(paper, text, *rest, **how)

        monkeypatch.setattr(Paper, "put", also_kept)
        table_card(table)
        monkeypatch.setattr(Paper, "put", put)
        return drawn

    return words


@pytest.mark.parametrize(
    "form", [TableForm(), TableForm(speed_unit="mph"), TableForm(direction="cas-to-ias")]
)
def test_no_band_on_the_card_cuts_into_the_band_that_it_rounds(drawn_words, form) -> None:
    table = invented_table(form=form, readings=invented_readings())
    told = [re.fullmatch(r"(\d+) to (\d+)", words) for words in drawn_words(table)]
    bands = [(float(found[1]), float(found[2])) for found in told if found]
    known = [line for line in table_lines(table) if line.following is not None]
    assert len(bands) == len(known) > 0
    for (low, high), line in zip(bands, known, strict=True):
        base = 0.0 if form.from_cas else line.given
        first, last = (base + end for end in line.following or ())
        assert first - 1.0 < low <= first + 1e-6, line
        assert last - 1e-6 <= high < last + 1.0, line


def test_the_card_says_the_altitude_that_its_altimeter_column_holds_for(drawn_words) -> None:
    table = invented_table(altitude_statement="Altimeter corrections hold at 0 ft.")
    assert "hold at 0 ft" in " ".join(drawn_words(table))


def test_the_card_ends_at_never_exceed_and_prints_limits_rounded_down(drawn_words) -> None:
    never = TableLimit("never exceed", 124.9, "why", True)
    words = drawn_words(invented_table(limits=(never,)))
    assert "120" in words
    assert not {"125", "130", "135", "140"} & set(words)
    assert "never exceed 124" in " ".join(words)
