"""How two curves compared are printed, and the pairings of one static source."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from fleetcal.cli.left_out_words import left_out_head
from fleetcal.cli.output import ALWAYS, IN_UNIT, SPARE, Column, View
from fleetcal.cli.views import model_line, numbers_head
from fleetcal.wording import counted

if TYPE_CHECKING:
    from fleetcal.services.curves.compare_curves import Comparison
    from fleetcal.services.curves.pairings import Pairings


def _port_answer(found: Pairings) -> Iterator[str]:
    yield f"{found.verdict[0].upper()}{found.verdict[1:]}."


def _port_head(found: Pairings) -> Iterator[str]:
    yield (
        f"{found.static_source}, flaps {found.flap_setting}; airspeeds are IAS at "
        f"{found.weight_kg:.0f} kg. Corrections are those of the group's mean."
    )
    yield from left_out_head(found)


def _port_foot(found: Pairings) -> Iterator[str]:
    for sentence in found.left_out:
        yield f"Left out: {sentence}"


PAIRINGS: View[Pairings] = View(
    kind="pairings",
    rows="rows",
    columns=[
        Column("pairing", section=True),
        Column("ias_kt", 0),
        Column("airframes"),
        Column("own_kt", 1, sign=True, heading="by its own airframes"),
        Column("own_low_kt", 1, sign=True, to="own_high_kt", heading="95 % band"),
        Column("shrunk_kt", 1, sign=True, heading="with the other pairings"),
        Column("shrunk_low_kt", 1, sign=True, to="shrunk_high_kt", heading="95 % band"),
    ],
    answer=_port_answer,
    head=_port_head,
    foot=_port_foot,
    details=model_line,
    cautioned=True,
    tells_of="curve",
)


def comparison_view(kind: str) -> View[Comparison]:
    """Return how two curves compared are printed."""
    first, second = ("before", "after") if kind.endswith("change") else ("first", "second")
    return View(
        kind=kind,
        rows="rows",
        columns=[
            Column("speed_kt", 0, importance=ALWAYS),
            Column("first", IN_UNIT, sign=True, heading=first),
            Column("second", IN_UNIT, sign=True, heading=second),
            Column("difference", IN_UNIT, sign=True, importance=ALWAYS),
            Column("low", IN_UNIT, sign=True, to="high", heading="95 % band"),
            Column("smallest_shown", IN_UNIT, heading="would have shown", importance=SPARE),
        ],
        answer=lambda found: [found.answer],
        head=lambda found: comparison_head(found, (first, second)),
        foot=comparison_foot,
        details=comparison_details,
        cautioned=True,
    )


def comparison_head(found: Comparison, places: tuple[str, str]) -> Iterator[str]:
    """Tell what was compared.

    Args:
        places: Headings of the two sides.
    """
    yield f"{found.type}, flaps {found.flap_setting}. {numbers_head(found)}"
    for place, side in zip(places, (found.first, found.second), strict=True):
        yield (
            f"{place[0].upper()}{place[1:]}: {side.name} ({counted(side.points, 'point')}, "
            f"{counted(side.sorties, 'sortie')}, {counted(side.airframes, 'airframe')})."
        )
    yield from left_out_head(found)


def comparison_details(found: Comparison) -> Iterator[str]:
    """Tell the verdict at three speeds, and the model."""
    yield f"{found.verdict[0].upper()}{found.verdict[1:]}."
    yield from model_line(found)


def comparison_foot(found: Comparison) -> Iterator[str]:
    """Tell what each airframe says, and doubts."""
    for sentence in found.each:
        yield f"By itself: {sentence}."
    for sentence in found.doubts:
        yield f"Doubt: {sentence}."
    for note in found.notes:
        yield f"Note: {note}."
