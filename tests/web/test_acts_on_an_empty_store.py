"""Every page that does something answers before anything is in the store."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from fleetcal.store import open_store
from tests.store_places import begun_at
from tests.web.served import ServedPages, served


@pytest.fixture
def pages(tmp_path: Path) -> Iterator[ServedPages]:
    with open_store(begun_at(tmp_path / "new.sqlite3")) as store, served(store) as opened:
        yield opened


@pytest.mark.parametrize(
    "path",
    [
        *("", "do/airframe", "do/fleet", "do/fleet.toml", "plan", "plan/blank", "publish"),
        *(
            "publish/site",
            "issues",
            "share",
            "share?look=yes",
            "share/merge",
            "owners",
            "owners/name",
        ),
        *("history", "history/backup", "end"),
    ],
)
def test_a_page_answers_before_anything_is_in_the_store(pages: ServedPages, path: str) -> None:
    assert pages.get(path).status_code == 200


def test_the_first_airframe_has_a_page_with_its_acts(pages: ServedPages) -> None:
    text = pages.follow(pages.post("do/airframe", data={"tag": "F-01"})).get_data(as_text=True)
    assert "F-01 is in the store." in text
    assert "Do something with F-01" in text
    assert pages.get("plan?airframe=F-01").status_code == 200
    assert pages.get("publish?group=F-01").status_code == 200
