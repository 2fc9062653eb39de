"""How handbook tables and carried speeds are printed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING, Final

from fleetcal.cli.left_out_words import left_out_head
from fleetcal.cli.output import ALWAYS, SPARE, Column, View
from fleetcal.cli.views import model_line, row_notes
from fleetcal.wording import there_are

if TYPE_CHECKING:
    from fleetcal.services.handbook.carry_speeds import CarriedSpeeds
    from fleetcal.services.handbook.compare_handbook import HandbookComparison
    from fleetcal.services.handbook.enter_handbook import HandbookList


HANDBOOKS: View[HandbookList] = View(
    kind="handbooks",
    rows="handbooks",
    columns=[
        Column("type", once=True),
        Column("name", wraps=True, importance=ALWAYS),
        Column("static_source", wraps=True),
        Column("flap_setting", heading="flaps"),
        Column("weight_kg", 0),
        Column("lines"),
        Column("slowest_kt", 0, to="fastest_kt", heading="IAS"),
        Column("speeds"),
    ],
    answer=lambda found: [f"{there_are(len(found.handbooks), 'handbook table')}."],
)


def _head(found: HandbookComparison | CarriedSpeeds) -> Iterator[str]:
    yield (
        f"{found.type}, handbook {found.handbook} (flown with {found.handbook_static_source}) "
        f"against {found.group}, flaps {found.flap_setting}; airspeeds of the fitted static source "
        f"are IAS at {found.weight_kg:.0f} kg."
    )
    yield from left_out_head(found)


def _comparison_foot(found: HandbookComparison) -> Iterator[str]:
    yield from row_notes(found.rows)
    if found.airframe is None:
        yield "Difference: the handbook's correction minus the group's mean, with both 95 % bands."
    else:
        yield f"Difference: the handbook's correction minus that of {found.airframe}, 95 % band."


COMPARISON: View[HandbookComparison] = View(
    kind="handbook_comparison",
    rows="rows",
    columns=[
        Column("ias_kt", 0, importance=ALWAYS),
        Column("handbook_kt", 1, sign=True),
        Column("curve_kt", 1, sign=True, heading="the group's mean"),
        Column("difference_kt", 1, sign=True, importance=ALWAYS),
        Column("low_kt", 1, sign=True, to="high_kt", heading="from the group's mean"),
        Column(
            "next_low_kt",
            1,
            sign=True,
            to="next_high_kt",
            heading="from another aircraft of the group",
        ),
    ],
    answer=lambda found: [f"{found.verdict[0].upper()}{found.verdict[1:]}."],
    head=_head,
    foot=_comparison_foot,
    details=model_line,
    cautioned=True,
    tells_of="curve",
)


OWN_COMPARISON: View[HandbookComparison] = replace(
    COMPARISON,
    columns=[
        Column("ias_kt", 0, importance=ALWAYS),
        Column("handbook_kt", 1, sign=True),
        Column("curve_kt", 1, sign=True, heading="this aircraft"),
        Column("difference_kt", 1, sign=True, importance=ALWAYS),
        Column("low_kt", 1, sign=True, to="high_kt", heading="its 95 % band"),
    ],
)


def _carried_answer(found: CarriedSpeeds) -> Iterator[str]:
    yield found.answer


def _carried_foot(found: CarriedSpeeds) -> Iterator[str]:
    for row in found.speeds:
        if row.note:
            yield f"{row.speed}: {row.note}."
    if found.limit_caution:
        yield found.limit_caution


_CARRIED_TO: Final = (
    Column("speed", importance=ALWAYS, wraps=True),
    Column("handbook_ias_kt", 1, heading="handbook IAS"),
    Column("ias_kt", 1, heading="IAS here", importance=ALWAYS),
)
_CARRIED_FROM: Final = (
    Column("not_above_kt", 1, heading="not above", importance=ALWAYS),
    Column("change_kt", 1, sign=True),
    Column("cas_kt", 1),
)
_LIMIT: Final = Column("limit", importance=SPARE)
CARRIED: View[CarriedSpeeds] = View(
    kind="carried_speeds",
    rows="speeds",
    columns=[
        *_CARRIED_TO,
        Column("next_low_kt", 1, to="next_high_kt", heading="another aircraft of the group"),
        *_CARRIED_FROM,
        Column("low_kt", 1, to="high_kt", heading="the group's mean", importance=SPARE),
        _LIMIT,
    ],
    answer=_carried_answer,
    head=_head,
    foot=_carried_foot,
    cautioned=True,
    tells_of="curve",
)

OWN_CARRIED: View[CarriedSpeeds] = replace(
    CARRIED,
    columns=[
        *_CARRIED_TO,
        Column("low_kt", 1, to="high_kt", heading="this aircraft"),
        *_CARRIED_FROM,
        _LIMIT,
    ],
)
