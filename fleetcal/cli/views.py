"""How each kind of result is printed: columns, and the lines around them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Protocol

from fleetcal.cli.left_out_words import left_out_head
from fleetcal.cli.output import IN_UNIT, Column, View, text_table
from fleetcal.records import Point, columns_of
from fleetcal.wording import counted

if TYPE_CHECKING:
    from fleetcal.services.curves.airframe_verdict import AirframeVerdict
    from fleetcal.services.curves.compare_curves import Comparison
    from fleetcal.services.curves.judgement import Judgement
    from fleetcal.services.curves.list_groups import GroupList
    from fleetcal.services.curves.pooled_curve import PooledCurve
    from fleetcal.services.curves.quantity import Quantity
    from fleetcal.services.curves.standing_detail import StandingDetail
    from fleetcal.services.fleet.describe_fleet import FleetShown
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
        *(f"{note}." for note in found.set_aside),
        *(["'fleetcal standing TAG' tells how far one departs."] if found.set_aside else []),
        "slowest_kt and fastest_kt: IAS as read, at the weights flown",
    ],
)


class _Modelled(Protocol):
    @property
    def model(self) -> str: ...


def model_line(found: _Modelled) -> Iterator[str]:
    """Tell the model that was fitted."""
    yield f"Model: {found.model}."


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
        shifts = ", ".join(
            f"{row.ias_kt:.0f} kt {row.light_correction_kt:+.1f}"
            for row in curve.rows
            if row.light_correction_kt is not None and row.correction_kt is not None
        )
        yield (
            f"At {curve.light_weight_kg:.0f} kg, the lightest flown, the correction differs by "
            f"more than half the band for the next aircraft: {shifts}."
        )
    for sentence in curve.doubts:
        yield f"Doubt: {sentence}."
    for sentence in curve.outside:
        yield f"Beware: {sentence}."
    for sentence in curve.left_out:
        yield f"Left out: {sentence}"
    yield curve.pitot


def _curve_details(curve: PooledCurve) -> Iterator[str]:
    yield from model_line(curve)
    if curve.yardstick:
        yield curve.yardstick


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
    details=_curve_details,
    cautioned=True,
    tells_of="curve",
)


def judgement_head(judged: Judgement) -> Iterator[str]:
    """Tell how many were judged together."""
    aside = sum(a.verdict == "set aside" for a in judged.airframes)
    shown = len(judged.airframes) - aside
    outside = sum(a.outside for a in judged.airframes)
    words = "none is outside its group"
    if outside:
        words = f"{outside} {'is outside its' if outside == 1 else 'are outside their'} group"
    if 0 < shown < judged.judged:
        words = f"of the {shown} shown, {words}"
    if shown == 1 < judged.judged:
        words = f"the one shown is {'' if outside else 'not '}outside its group"
    yield (
        f"{judged.type}, flaps {judged.flap_setting}: "
        f"{counted(judged.judged, 'airframe')} judged together; {words}"
        + (f"; set aside: {aside}" if aside else "")
    )


def _judgement_head(judged: Judgement) -> Iterator[str]:
    yield from judgement_head(judged)
    yield numbers_head(judged)


def numbers_head(found: Judgement | Comparison) -> str:
    """Tell what the airspeeds and the numbers of a quantity are for."""
    quantity, weight = found.quantity, f"{found.weight_kg:.0f} kg"
    if found.altitude_ft is None:
        return f"airspeeds are {quantity.speed} at {weight}"
    air = f"{weight} in standard air at {found.altitude_ft:.0f} ft"
    if not found.power_state:
        return f"{quantity.many}; airspeeds are {quantity.speed} for {air}"
    return (
        f"{quantity.many} with {found.power_state}; rates in {quantity.unit}, positive upwards, "
        f"for {air}"
    )


def notes(found: Judgement | Comparison) -> Iterator[str]:
    """Tell how the numbers came about."""
    for note in found.notes:
        yield f"Note: {note}."


def judgement_foot(judged: Judgement) -> Iterator[str]:
    """Tell what is outside, and what was left out."""
    for airframe in judged.airframes:
        if airframe.verdict != "inside":
            yield f"{airframe.airframe} {airframe.verdict}: {airframe.reason}."
    for sentence in judged.left_out:
        yield f"Not judged: {sentence}."
    yield from judgement_basis(judged)


def judgement_basis(judged: Judgement) -> Iterator[str]:
    """Tell what disagrees with itself, and how the numbers came about."""
    for sentence in judged.second_opinions:
        yield f"Second opinion: {sentence}."
    for group in judged.two_clusters:
        yield f"Beware: {group.said}."
    for found in judged.disagreements:
        yield f"Beware: {found.said}."
    yield from notes(judged)


def _judgement_details(judged: Judgement) -> Iterator[str]:
    """Tell what was fitted, and the model."""
    yield (
        f"Fitted to {counted(judged.fitted_airframes, 'airframe')}, "
        f"{counted(judged.fitted_sorties, 'sortie')}, "
        f"{counted(judged.fitted_points, judged.quantity.one)}; "
        f"the spread between airframes is estimated with "
        f"{counted(judged.spread_degrees_of_freedom, 'degree')} of freedom (airframes minus "
        "groups)."
    )
    yield from model_line(judged)


_VERDICT_COLUMNS = [
    Column("airframe"),
    Column("verdict"),
    Column("largest_departure", IN_UNIT, sign=True),
    Column("at_speed_kt", 0),
    Column("p_value", 3, chance=True),
    Column("adjusted_p_value", 3, chance=True),
    Column("others"),
    Column("points"),
    Column("set_aside"),
    Column("group"),
]
_DEPARTURE_COLUMNS = [
    Column("speed_kt", 0),
    *(Column(name, IN_UNIT, sign=True) for name in ("departure", "low", "high")),
]


OUTLIERS: View[Judgement] = View(
    kind="outliers",
    rows="airframes",
    columns=_VERDICT_COLUMNS,
    head=_judgement_head,
    foot=judgement_foot,
    details=_judgement_details,
    cautioned=True,
)


def _verdict_lines(judged: Judgement) -> Iterator[str]:
    """Tell each verdict with its departures."""
    quantity = judged.quantity
    for airframe in judged.airframes:
        verdict = airframe.verdict
        if verdict == "undecided":
            verdict += f" with {counted(airframe.others + 1, 'airframe')}"
        yield f"{airframe.airframe} {_among(quantity, airframe)}: {verdict}; {airframe.reason}."
        if airframe.rows:
            yield (
                f"Departure of its {quantity.departs_in} from the group's, 95 % band of the "
                "measurement:"
            )
            yield from text_table(airframe.rows, _DEPARTURE_COLUMNS, quantity)
            if airframe.indicator_never_on_bench:
                yield (
                    "That is as its indicator reads; of the port alone it is known to "
                    f"{airframe.port_alone_u95:.1f} kt only where it departs most, because "
                    "the indicator was never on a bench, and more sorties do not change that."
                )


def _detail_lines(judged: Judgement) -> Iterator[str]:
    """Tell what each verdict rests on and what would settle it."""
    quantity = judged.quantity
    for detail in judged.details:
        where = f"{detail.airframe} {_among(quantity, detail)}"
        if detail.heaviest:
            shares = "; ".join(
                f"{quantity.one} {p.number} ({p.flown_on}, {p.speed_kt:.0f} kt) "
                f"{p.share_percent:.0f} %"
                for p in detail.heaviest
            )
            yield (
                f"{where}: the {quantity.words['many']} that count most in its largest "
                f"departure, with their shares: {shares}."
            )
        if detail.settles:
            yield f"{where}: what would settle it: {detail.settles}."


def _among(quantity: Quantity, one: AirframeVerdict | StandingDetail) -> str:
    return f"in {one.group}" if quantity.by_port else f"with {one.group}"


def _standing_foot(judged: Judgement) -> Iterator[str]:
    yield from _verdict_lines(judged)
    yield from _detail_lines(judged)
    for sentence in judged.left_out:
        yield f"Left out: {sentence}."
    yield from judgement_basis(judged)


STANDING: View[Judgement] = View(
    kind="standing",
    rows="airframes",
    columns=_VERDICT_COLUMNS,
    head=_judgement_head,
    foot=_standing_foot,
    details=_judgement_details,
    cautioned=True,
)
