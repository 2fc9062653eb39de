"""How each kind of result is printed: columns, and the lines around them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import TYPE_CHECKING, TypeVar

from fleetcal.cli.left_out_words import left_out_head
from fleetcal.cli.output import Column, View, text_table
from fleetcal.records import Point, columns_of
from fleetcal.wording import counted

if TYPE_CHECKING:
    from fleetcal.services.curves.airframe_verdict import AirframeVerdict
    from fleetcal.services.curves.judgement import Judgement
    from fleetcal.services.curves.list_groups import GroupList
    from fleetcal.services.curves.pooled_curve import PooledCurve
    from fleetcal.services.curves.standing_detail import StandingDetail
    from fleetcal.services.fleet.describe_fleet import FleetShown
    from fleetcal.services.performance.climb_verdicts import (
        ClimbDetail,
        ClimbJudgement,
        ClimbVerdict,
    )
    from fleetcal.services.points.decide_points import PointList


FLEET: View[FleetShown] = View(
    kind="fleet",
    rows="fits",
    columns=[
        Column("airframe"),
        Column("from_date"),
        Column("static_source"),
        Column("engine"),
        Column("propeller"),
        Column("pitot"),
        Column("temperature_shows"),
        Column("recovery_factor", 2),
    ],
    head=lambda fleet: [f"Types: {', '.join(fleet.types) or 'none'}"],
)

POINTS: View[PointList] = View(
    kind="points",
    rows="points",
    columns=[
        *map(Column, ("point_id", "airframe", "flown_on", "static_source")),
        *(Column(c.name, c.decimals, sign=c.sign) for c in columns_of(Point).values() if c.listed),
        Column("barred"),
    ],
    head=lambda found: [
        f"{counted(len(found.points), 'point')}; vic_kt: IAS as read, the indicator's own error "
        "taken out, at weight_kg"
    ],
)

GROUPS: View[GroupList] = View(
    kind="groups",
    rows="groups",
    columns=[
        Column("type"),
        Column("group"),
        Column("flap_setting"),
        Column("airframes"),
        Column("sorties"),
        Column("points"),
        Column("rejected_points"),
        Column("barred_points"),
        Column("set_aside_airframes"),
        Column("slowest_kt", 0),
        Column("fastest_kt", 0),
        Column("enough"),
    ],
    head=lambda found: [
        *(f"{said}." for said in found.set_aside),
        *(["'fleetcal standing TAG' tells how far one departs."] if found.set_aside else []),
        "slowest_kt and fastest_kt: IAS as read, at the weights flown",
    ],
)


def _curve_head(curve: PooledCurve) -> Iterator[str]:
    yield f"{curve.type}, {curve.group}, flaps {curve.flap_setting}, {curve.weight_kg:.0f} kg"
    yield (
        f"{counted(curve.airframes, 'airframe')}, {counted(curve.sorties, 'sortie')}, "
        f"{counted(curve.points, 'point')}; "
        f"altimeter corrections at {curve.altitude_ft:.0f} ft"
    )
    yield from left_out_head(curve)
    yield "mean: 95 % band of the group's mean curve; next: 95 % band for its next aircraft"
    yield (
        f"ias_kt: IAS at {curve.weight_kg:.0f} kg; airframes: whose points reach it, brought to "
        "that weight; flown_by: whose indicator showed it, at the weight they flew"
    )


def _curve_foot(curve: PooledCurve) -> Iterator[str]:
    for row in curve.rows:
        if row.note:
            yield f"{row.ias_kt:.0f} kt: {row.note}."
    if curve.light_weight_kg is not None:
        told = ", ".join(
            f"{row.ias_kt:.0f} kt {row.light_correction_kt:+.1f}"
            for row in curve.rows
            if row.light_correction_kt is not None and row.correction_kt is not None
        )
        yield (
            f"At {curve.light_weight_kg:.0f} kg, the lightest flown, the correction differs by "
            f"more than half the band for the next aircraft: {told}."
        )
    yield f"Model: {curve.model}."
    for sentence in curve.doubts:
        yield f"Doubt: {sentence}."
    for sentence in curve.outside:
        yield f"Beware: {sentence}."
    for sentence in curve.left_out:
        yield f"Left out: {sentence}"
    if curve.yardstick:
        yield curve.yardstick
    yield curve.pitot


CURVE: View[PooledCurve] = View(
    kind="curve",
    rows="rows",
    columns=[
        Column("ias_kt", 0),
        Column("cas_kt", 1),
        Column("correction_kt", 1, sign=True),
        Column("mean_low_kt", 1, sign=True),
        Column("mean_high_kt", 1, sign=True),
        Column("next_low_kt", 1, sign=True),
        Column("next_high_kt", 1, sign=True),
        Column("altitude_correction_ft", 0, sign=True),
        Column("airframes"),
        Column("flown_by"),
    ],
    head=_curve_head,
    foot=_curve_foot,
    cautioned=True,
    tells_of="curve",
)


def judgement_head(judged: Judgement | ClimbJudgement) -> Iterator[str]:
    """Tell how many were judged together."""
    aside = sum(a.verdict == "set aside" for a in judged.airframes)
    shown = len(judged.airframes) - aside
    outside = sum(a.outside for a in judged.airframes)
    words = "none is outside its group"
    if outside:
        words = f"{outside} {'is outside its' if outside == 1 else 'are outside their'} group"
    if 0 < shown < judged.judged:
        words = f"of the {shown} shown, {words}" if shown > 1 else f"of the one shown, {words}"
    yield (
        f"{judged.type}, flaps {judged.flap_setting}: "
        f"{counted(judged.judged, 'airframe')} judged together; {words}"
        + (f"; set aside: {aside}" if aside else "")
    )


def _ias_judgement_head(judged: Judgement) -> Iterator[str]:
    yield from judgement_head(judged)
    yield f"airspeeds are IAS at {judged.weight_kg:.0f} kg"


def judgement_foot(judged: Judgement | ClimbJudgement) -> Iterator[str]:
    """Tell what is outside, what was left out, and the model."""
    for airframe in judged.airframes:
        if airframe.verdict != "inside":
            yield f"{airframe.airframe} {airframe.verdict}: {airframe.reason}."
    for sentence in judged.left_out:
        yield f"Not judged: {sentence}."
    yield from judgement_basis(judged)


def judgement_basis(judged: Judgement | ClimbJudgement) -> Iterator[str]:
    """Tell what disagrees with itself, what was fitted, and the model."""
    for found in judged.disagreements:
        yield f"Beware: {found.said}."
    yield (
        f"Fitted to {counted(judged.fitted_airframes, 'airframe')}, "
        f"{counted(judged.fitted_sorties, 'sortie')}, {counted(judged.fitted_points, 'point')}; "
        f"the spread between airframes is estimated with "
        f"{counted(judged.spread_degrees_of_freedom, 'degree')} of freedom (airframes minus "
        "groups)."
    )
    yield f"Model: {judged.model}."


OUTLIERS: View[Judgement] = View(
    kind="outliers",
    rows="airframes",
    columns=[
        Column("airframe"),
        Column("verdict"),
        Column("largest_departure_kt", 1, sign=True),
        Column("at_ias_kt", 0),
        Column("p_value", 3, chance=True),
        Column("adjusted_p_value", 3, chance=True),
        Column("others"),
        Column("points"),
        Column("set_aside"),
        Column("group"),
    ],
    head=_ias_judgement_head,
    foot=judgement_foot,
    cautioned=True,
    tells_of="curve",
)

_DEPARTURE_COLUMNS = [
    Column("ias_kt", 0),
    Column("departure_kt", 1, sign=True),
    Column("low_kt", 1, sign=True),
    Column("high_kt", 1, sign=True),
]


Verdict = TypeVar("Verdict", "AirframeVerdict", "ClimbVerdict")
Detail = TypeVar("Detail", "StandingDetail", "ClimbDetail")


def _no_remark(verdict: object) -> Iterable[str]:
    return ()


def verdict_lines(
    verdicts: Sequence[Verdict],
    among: Callable[[Verdict], str],
    departs: str,
    columns: list[Column],
    remark: Callable[[Verdict], Iterable[str]] = _no_remark,
) -> Iterator[str]:
    """Tell each verdict with its departures; `among` says of a verdict where it stands."""
    for airframe in verdicts:
        told = airframe.verdict
        if told == "cannot be told":
            told += f" with {counted(airframe.others + 1, 'airframe')}"
        yield f"{airframe.airframe} {among(airframe)}: {told}; {airframe.reason}."
        if airframe.rows:
            yield f"Departure of its {departs} from the group's, 95 % band of the measurement:"
            yield from text_table(airframe.rows, columns)
            yield from remark(airframe)


def detail_lines(
    details: Sequence[Detail],
    among: Callable[[Detail], str],
    many: str,
    heaviest: Callable[[Detail], list[str]],
) -> Iterator[str]:
    """Tell what each verdict rests on, by measurements with their shares, and what settles it."""
    for detail in details:
        if shares := heaviest(detail):
            yield (
                f"{detail.airframe} {among(detail)}: the {many} that count most in its largest "
                f"departure, with their shares: {'; '.join(shares)}."
            )
        if detail.settles:
            yield f"{detail.airframe} {among(detail)}: what would settle it: {detail.settles}."


def _in_group(one: AirframeVerdict | StandingDetail) -> str:
    return f"in {one.group}"


def _never_on_bench(one: AirframeVerdict) -> Iterator[str]:
    if one.indicator_never_on_bench:
        yield (
            "That is as its indicator reads; of the port alone it is known to "
            f"{one.port_alone_u95_kt:.1f} kt only where it departs most, because "
            "the indicator was never on a bench, and more sorties do not change that."
        )


def _heaviest(detail: StandingDetail) -> list[str]:
    return [
        f"point {one.point_id} ({one.flown_on}, {one.ias_kt:.0f} kt) {one.share_percent:.0f} %"
        for one in detail.heaviest
    ]


def _standing_foot(judged: Judgement) -> Iterator[str]:
    yield from verdict_lines(
        judged.airframes, _in_group, "correction", _DEPARTURE_COLUMNS, _never_on_bench
    )
    yield from detail_lines(judged.details, _in_group, "points", _heaviest)
    yield from judgement_basis(judged)


STANDING: View[Judgement] = View(
    kind="standing",
    rows="airframes",
    columns=OUTLIERS.columns,
    head=_ias_judgement_head,
    foot=_standing_foot,
    cautioned=True,
    tells_of="curve",
)
