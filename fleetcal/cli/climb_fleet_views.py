"""How climbs and glides across the fleet are printed."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from fleetcal.cli.comparisons import comparison_foot, comparison_head
from fleetcal.cli.output import Column, View
from fleetcal.cli.views import (
    detail_lines,
    judgement_basis,
    judgement_foot,
    judgement_head,
    verdict_lines,
)

if TYPE_CHECKING:
    from fleetcal.services.performance.climb_verdicts import (
        ClimbComparison,
        ClimbDetail,
        ClimbJudgement,
        ClimbVerdict,
    )


def _told_for(found: ClimbJudgement | ClimbComparison) -> str:
    return (
        f"{found.kind}s with {found.power_state}; rates in ft/min, positive upwards, for "
        f"{found.weight_kg:.0f} kg in standard air at {found.altitude_ft:.0f} ft"
    )


def _head(judged: ClimbJudgement) -> Iterator[str]:
    yield from judgement_head(judged)
    yield _told_for(judged)


def _outliers_foot(judged: ClimbJudgement) -> Iterator[str]:
    yield from judgement_foot(judged)
    yield from _notes(judged)


def _notes(found: ClimbJudgement | ClimbComparison) -> Iterator[str]:
    for note in found.notes:
        yield f"Note: {note}."


_DEPARTURE_COLUMNS = [
    Column("cas_kt", 0),
    Column("departure_ftmin", 0, sign=True),
    Column("low_ftmin", 0, sign=True),
    Column("high_ftmin", 0, sign=True),
]


def _with_pairing(one: ClimbVerdict | ClimbDetail) -> str:
    return f"with {one.pairing}"


def _heaviest(detail: ClimbDetail) -> list[str]:
    return [
        f"number {one.climb_id} ({one.flown_on}, {one.cas_kt:.0f} kt) {one.share_percent:.0f} %"
        for one in detail.heaviest
    ]


def _standing_foot(judged: ClimbJudgement) -> Iterator[str]:
    yield from verdict_lines(judged.airframes, _with_pairing, "rate", _DEPARTURE_COLUMNS)
    yield from detail_lines(judged.details, _with_pairing, "measurements", _heaviest)
    for said in judged.left_out:
        yield f"Left out: {said}."
    yield from judgement_basis(judged)
    yield from _notes(judged)


_VERDICT_COLUMNS = [
    Column("airframe"),
    Column("verdict"),
    Column("largest_departure_ftmin", 0, sign=True),
    Column("at_cas_kt", 0),
    Column("p_value", 3, chance=True),
    Column("adjusted_p_value", 3, chance=True),
    Column("others"),
    Column("measurements"),
    Column("set_aside"),
    Column("pairing"),
]

OUTLIERS: View[ClimbJudgement] = View(
    kind="climb_outliers",
    rows="airframes",
    columns=_VERDICT_COLUMNS,
    head=_head,
    foot=_outliers_foot,
    cautioned=True,
    tells_of="rate",
)
STANDING: View[ClimbJudgement] = View(
    kind="climb_standing",
    rows="airframes",
    columns=_VERDICT_COLUMNS,
    head=_head,
    foot=_standing_foot,
    cautioned=True,
    tells_of="rate",
)


def _comparison_head(found: ClimbComparison) -> Iterator[str]:
    yield from comparison_head(found)
    yield _told_for(found)


def _comparison_foot(found: ClimbComparison) -> Iterator[str]:
    yield from comparison_foot(found)
    yield from _notes(found)


def _comparison(name: str) -> View[ClimbComparison]:
    return View(
        kind=name,
        rows="rows",
        columns=[
            Column("cas_kt", 0),
            Column("first_ftmin", 0, sign=True),
            Column("second_ftmin", 0, sign=True),
            Column("difference_ftmin", 0, sign=True),
            Column("low_ftmin", 0, sign=True),
            Column("high_ftmin", 0, sign=True),
            Column("smallest_shown_ftmin", 0),
        ],
        head=_comparison_head,
        foot=_comparison_foot,
        cautioned=True,
        tells_of="rate",
    )


CHANGE = _comparison("climb_change")
CONTRAST = _comparison("climb_contrast")
