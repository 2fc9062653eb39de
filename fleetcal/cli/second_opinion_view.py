"""How a curve is shown beside that of another program."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from fleetcal.cli.left_out_words import left_out_head
from fleetcal.cli.output import SPARE, Column, View

if TYPE_CHECKING:
    from fleetcal.services.curves.second_opinion import ComparedCurves


def _answer(found: ComparedCurves) -> Iterator[str]:
    yield f"Second opinion: {found.verdict}."


def _head(found: ComparedCurves) -> Iterator[str]:
    yield (
        f"{found.type}, {found.group}, flaps {found.flap_setting}, IAS at "
        f"{found.weight_kg:.0f} kg: {found.airframes} airframes, {found.points} points; both "
        f"curves of order {found.order} from the same points."
    )
    yield from left_out_head(found)
    yield (
        "Correction: this program's, with the 95 % band of the group's mean; second: the mixed "
        "model of statsmodels (MixedLM, restricted likelihood, Powell's search)."
    )


def _foot(found: ComparedCurves) -> Iterator[str]:
    for row in found.rows:
        if row.note:
            yield f"{row.ias_kt:.0f} kt: {row.note}."
    for sentence in found.differs:
        yield f"Why not the same: {sentence}."


SECOND_OPINION: View[ComparedCurves] = View(
    kind="second-opinion",
    rows="rows",
    columns=[
        Column("ias_kt", 0),
        Column("correction_kt", 2, sign=True, heading="correction to add"),
        Column("mean_low_kt", 2, sign=True, to="mean_high_kt", heading="the group's mean"),
        Column("second_kt", 2, sign=True),
        Column("second_low_kt", 2, sign=True, to="second_high_kt", heading="its 95 % band"),
        Column("difference_kt", 2, sign=True),
        Column("airframes", importance=SPARE),
    ],
    answer=_answer,
    head=_head,
    foot=_foot,
    cautioned=True,
)
