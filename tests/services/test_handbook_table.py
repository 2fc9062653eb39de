"""Handbook tables are chosen by type and flap setting together, and read between their lines."""

from __future__ import annotations

import numpy as np
import pytest

from fleetcal.services.handbook.handbook_table import HandbookTable, handbooks_of
from fleetcal.store import FleetDescription, HandbookDescription

pytestmark = pytest.mark.any_store("opens no store")


def book(kind: str, flaps: str, *rows: tuple[float, float]) -> HandbookDescription:
    return HandbookDescription(
        type=kind,
        static_source="wing boom",
        flap_setting=flaps,
        name="2019",
        weight_kg=600.0,
        rows=rows,
    )


@pytest.mark.parametrize(
    ("kind", "flaps", "places"),
    [
        (None, None, [0, 1, 2]),
        ("Corrie 2", None, [0, 1]),
        (None, "20", [1, 2]),
        ("Corrie 2", "20", [1]),
        ("Corrie 3", "up", []),
    ],
)
def test_type_and_flap_setting_both_count(
    kind: str | None, flaps: str | None, places: list[int]
) -> None:
    books = (book("Corrie 2", "up"), book("Corrie 2", "20"), book("Corrie 3", "20"))
    assert handbooks_of(FleetDescription(handbooks=books), kind, flaps) == [
        books[place] for place in places
    ]


def test_between_two_lines_cas_runs_straight_and_off_the_table_there_is_none() -> None:
    table = HandbookTable(book("Corrie 2", "up", (60.0, 64.0), (80.0, 81.0), (120.0, 119.0)))
    assert table.reach == (60.0, 120.0)
    assert table.rises
    cas = table.cas_kt(np.array([59.9, 60.0, 70.0, 90.0, 120.0, 120.1]))
    assert cas == pytest.approx([np.nan, 64.0, 72.5, 90.5, 119.0, np.nan], nan_ok=True)
    level = HandbookTable(book("Corrie 2", "up", (60.0, 64.0), (80.0, 64.0), (120.0, 119.0)))
    assert not level.rises
    assert not HandbookTable(book("Corrie 2", "up", (60.0, 64.0))).rises
