"""How two curves compared are printed, and the pairings of one static source."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from fleetcal.cli.left_out_words import left_out_head
from fleetcal.cli.output import IN_UNIT, Column, View
from fleetcal.cli.views import model_line, numbers_head

if TYPE_CHECKING:
    from fleetcal.services.curves.compare_curves import Comparison
    from fleetcal.services.curves.pairings import Pairings


def _port_head(found: Pairings) -> Iterator[str]:
    yield (
        f"{found.static_source}, flaps {found.flap_setting}; airspeeds are IAS at "
        f"{found.weight_kg:.0f} kg"
    )
    yield from left_out_head(found)
    yield "own: by its own airframes; shrunk: with what other pairings of the static source say"


def _port_foot(found: Pairings) -> Iterator[str]:
    yield f"{found.verdict[0].upper()}{found.verdict[1:]}."
    for sentence in found.left_out:
        yield f"Left out: {sentence}"


_ROW_NUMBERS = (
    "own_kt",
    "own_low_kt",
    "own_high_kt",
    "shrunk_kt",
    "shrunk_low_kt",
    "shrunk_high_kt",
)
PAIRINGS: View[Pairings] = View(
    kind="pairings",
    rows="rows",
    columns=[
        Column("pairing"),
        Column("ias_kt", 0),
        Column("airframes"),
        *(Column(name, 1, sign=True) for name in _ROW_NUMBERS),
    ],
    head=_port_head,
    foot=_port_foot,
    details=model_line,
    cautioned=True,
    tells_of="curve",
)


def comparison_view(kind: str) -> View[Comparison]:
    """Return how two curves compared are printed."""
    signed = ("first", "second", "difference", "low", "high")
    return View(
        kind=kind,
        rows="rows",
        columns=[
            Column("speed_kt", 0),
            *(Column(name, IN_UNIT, sign=True) for name in signed),
            Column("smallest_shown", IN_UNIT),
        ],
        head=comparison_head,
        foot=comparison_foot,
        details=model_line,
        cautioned=True,
    )


def comparison_head(found: Comparison) -> Iterator[str]:
    """Tell what was compared."""
    weight = f"{found.weight_kg:.0f} kg"
    yield f"{found.question}, flaps {found.flap_setting}, {weight}: airspeeds are at that weight"
    for place, side in (("first", found.first), ("second", found.second)):
        yield (
            f"{place}: {side.name}: points {side.points}, sorties {side.sorties}, "
            f"airframes {side.airframes}"
        )
    yield from left_out_head(found)
    if found.altitude_ft is not None:
        yield numbers_head(found)


def comparison_foot(found: Comparison) -> Iterator[str]:
    """Tell the verdict and doubts."""
    yield f"{found.verdict[0].upper()}{found.verdict[1:]}."
    for sentence in found.each:
        yield f"By itself: {sentence}."
    for sentence in found.doubts:
        yield f"Doubt: {sentence}."
    for note in found.notes:
        yield f"Note: {note}."
