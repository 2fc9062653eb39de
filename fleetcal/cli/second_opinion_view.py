"""How a curve is shown beside that of another program."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from fleetcal.cli.left_out_words import left_out_head
from fleetcal.cli.output import Column, View

if TYPE_CHECKING:
    from fleetcal.services.curves.second_opinion import ComparedCurves


def _head(found: ComparedCurves) -> Iterator[str]:
    yield f"{found.type}, {found.group}, flaps {found.flap_setting}, {found.weight_kg:.0f} kg"
    yield (
        f"{found.airframes} airframes, {found.points} points; both curves of order {found.order} "
        "from the same points"
    )
    yield from left_out_head(found)
    yield (
        "correction, mean: this program, with the 95 % band of the mean; second: the mixed model "
        "of statsmodels (MixedLM, restricted likelihood, Powell's search)"
    )


def _foot(found: ComparedCurves) -> Iterator[str]:
    for row in found.rows:
        if row.note:
            yield f"{row.ias_kt:.0f} kt: {row.note}."
    yield f"Second opinion: {found.verdict}."
    for sentence in found.differs:
        yield f"Why not the same: {sentence}."


SECOND_OPINION: View[ComparedCurves] = View(
    kind="second-opinion",
    rows="rows",
    columns=[
        Column("ias_kt", 0),
        Column("correction_kt", 2, sign=True),
        Column("mean_low_kt", 2, sign=True),
        Column("mean_high_kt", 2, sign=True),
        Column("second_kt", 2, sign=True),
        Column("second_low_kt", 2, sign=True),
        Column("second_high_kt", 2, sign=True),
        Column("difference_kt", 2, sign=True),
        Column("airframes"),
    ],
    head=_head,
    foot=_foot,
    cautioned=True,
)
