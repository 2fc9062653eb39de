"""Two airframes are compared on a served page; what cannot be is said with the choice kept."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from fleetcal.services.points.exchange_points import import_points
from fleetcal.store import Store
from tests.services.invented_group import flown_points
from tests.web.served import ServedPages, served


@pytest.fixture
def pages(described: Store, tmp_path: Path) -> Iterator[ServedPages]:
    flown_points(tmp_path / "p.csv", ["C-02", "C-03", "C-04", "C-05"])
    import_points(described, tmp_path / "p.csv")
    with served(described) as opened:
        yield opened


@pytest.mark.long
def test_two_airframes_are_beside_each_other_with_their_difference(pages: ServedPages) -> None:
    text = pages.get("compare?first=C-02&second=C-05").get_data(as_text=True)
    assert "<h1>C-02 and C-05</h1>" in text
    assert re.search(r"At \d+ kt indicated C-02 flies [\d.]+ kt and C-05 [\d.]+ kt calib", text)
    assert text.count('class="mean-band fits"') == 2  # wide and narrow
    assert text.count('class="next-band fits"') == 2
    assert "holds in at least 95 of 100 cases" in text
    for tag in ("C-02", "C-05"):
        assert f'href="airframes/{tag}.html"' in text


@pytest.mark.long
def test_the_page_of_an_airframe_leads_to_it_with_the_airframe_chosen(pages: ServedPages) -> None:
    assert "compare?first=C-03" in pages.get("airframes/C-03.html").get_data(as_text=True)
    text = pages.get("compare?first=C-03").get_data(as_text=True)
    assert "<option selected>C-03</option>" in text
    assert "<figure" not in text


@pytest.mark.parametrize(
    ("query", "why"),
    [
        ("first=C-02&second=C-02", "cannot be compared with itself"),
        ("first=C-02&second=C-99", "C-99 is not in the store"),
    ],
)
def test_what_cannot_be_compared_is_said_with_the_choice_kept(
    pages: ServedPages, query: str, why: str
) -> None:
    answer = pages.get(f"compare?{query}")
    assert answer.status_code == 400
    text = answer.get_data(as_text=True)
    assert why in text
    assert "<option selected>C-02</option>" in text
