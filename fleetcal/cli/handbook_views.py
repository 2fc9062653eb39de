"""How handbook tables and carried speeds are printed."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from fleetcal.cli.left_out_words import left_out_head
from fleetcal.cli.output import Column, View
from fleetcal.cli.views import model_line
from fleetcal.wording import counted

if TYPE_CHECKING:
    from fleetcal.services.handbook.carry_speeds import CarriedSpeeds
    from fleetcal.services.handbook.compare_handbook import HandbookComparison
    from fleetcal.services.handbook.enter_handbook import HandbookList


HANDBOOKS: View[HandbookList] = View(
    kind="handbooks",
    rows="handbooks",
    columns=[
        Column("type"),
        Column("static_source"),
        Column("flap_setting"),
        Column("name"),
        Column("weight_kg", 0),
        Column("lines"),
        Column("slowest_kt", 0),
        Column("fastest_kt", 0),
        Column("speeds"),
    ],
    head=lambda found: [counted(len(found.handbooks), "handbook table")],
)


def _head(found: HandbookComparison | CarriedSpeeds) -> Iterator[str]:
    yield (
        f"{found.type}, handbook {found.handbook} (flown with {found.handbook_static_source}) "
        f"against {found.group}"
    )
    yield f"flaps {found.flap_setting}; fitted airspeeds are IAS at {found.weight_kg:.0f} kg"
    yield from left_out_head(found)


def _comparison_foot(found: HandbookComparison) -> Iterator[str]:
    for row in found.rows:
        if row.note:
            yield f"{row.ias_kt:.0f} kt: {row.note}."
    yield f"{found.verdict[0].upper()}{found.verdict[1:]}."


COMPARISON: View[HandbookComparison] = View(
    kind="handbook_comparison",
    rows="rows",
    columns=[
        Column("ias_kt", 0),
        Column("handbook_kt", 1, sign=True),
        Column("curve_kt", 1, sign=True),
        Column("difference_kt", 1, sign=True),
        Column("low_kt", 1, sign=True),
        Column("high_kt", 1, sign=True),
        Column("next_low_kt", 1, sign=True),
        Column("next_high_kt", 1, sign=True),
    ],
    head=_head,
    foot=_comparison_foot,
    details=model_line,
    cautioned=True,
    tells_of="curve",
)


def _carried_foot(found: CarriedSpeeds) -> Iterator[str]:
    for row in found.speeds:
        if row.note:
            yield f"{row.speed}: {row.note}."
    if found.limit_caution:
        yield found.limit_caution


CARRIED: View[CarriedSpeeds] = View(
    kind="carried_speeds",
    rows="speeds",
    columns=[
        Column("speed"),
        Column("handbook_ias_kt", 1),
        Column("cas_kt", 1),
        Column("ias_kt", 1),
        Column("low_kt", 1),
        Column("high_kt", 1),
        Column("next_low_kt", 1),
        Column("next_high_kt", 1),
        Column("change_kt", 1, sign=True),
        Column("limit"),
        Column("not_above_kt", 1),
    ],
    head=_head,
    foot=_carried_foot,
    cautioned=True,
    tells_of="curve",
)
