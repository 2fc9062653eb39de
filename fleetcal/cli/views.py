"""How each kind of result is printed: columns, and the lines around them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING, Protocol

from fleetcal.cli.left_out_words import left_out_head
from fleetcal.cli.output import ALWAYS, DETAIL, IN_UNIT, SPARE, Column, View, text_table
from fleetcal.wording import counted

if TYPE_CHECKING:
    from fleetcal.services.curves.airframe_verdict import AirframeVerdict
    from fleetcal.services.curves.compare_curves import Comparison
    from fleetcal.services.curves.judgement import Judgement
    from fleetcal.services.curves.list_groups import GroupList
    from fleetcal.services.curves.pooled_curve import PooledCurve
    from fleetcal.services.curves.quantity import Quantity
    from fleetcal.services.curves.standing_detail import StandingDetail


def _groups_answer(found: GroupList) -> Iterator[str]:
    from fleetcal.services.curves.list_groups import groups_answer

    yield groups_answer(found)


def _groups_head(found: GroupList) -> Iterator[str]:
    yield from (f"{note}." for note in found.set_aside)
    if found.set_aside:
        yield "'fleetcal standing TAG' tells how far one departs."


def _groups_foot(found: GroupList) -> Iterator[str]:
    if found.groups:
        yield "Slowest and fastest: IAS as read, at the weights flown."


GROUPS: View[GroupList] = View(
    kind="groups",
    rows="groups",
    columns=[
        Column("type", once=True),
        Column("group", section=True),
        Column("flap_setting", heading="flaps", once=True),
        Column("airframes"),
        Column("sorties"),
        Column("points"),
        Column("slowest_kt", 0),
        Column("fastest_kt", 0),
        Column("enough", heading="enough for a curve"),
        Column("rejected_points", importance=SPARE),
        Column("barred_points", importance=SPARE),
        Column("set_aside_airframes", importance=SPARE),
    ],
    answer=_groups_answer,
    head=_groups_head,
    foot=_groups_foot,
)


class _Modelled(Protocol):
    @property
    def model(self) -> str: ...


def model_line(found: _Modelled) -> Iterator[str]:
    """Tell the model that was fitted."""
    yield f"Model: {found.model}."


def _curve_answer(curve: PooledCurve) -> Iterator[str]:
    from fleetcal.services.curves.answer_words import curve_answer

    yield curve_answer(curve.rows)


def _curve_head(curve: PooledCurve) -> Iterator[str]:
    yield (
        f"{curve.type}, {curve.group}, flaps {curve.flap_setting}, IAS at "
        f"{curve.weight_kg:.0f} kg: {counted(curve.airframes, 'airframe')}, "
        f"{counted(curve.sorties, 'sortie')}, {counted(curve.points, 'point')}."
    )
    yield from (f"{sentence}." for sentence in curve.rests_on)
    yield from left_out_head(curve)


class _Noted(Protocol):
    @property
    def ias_kt(self) -> float | None: ...

    @property
    def note(self) -> str: ...


def row_notes(rows: Iterable[_Noted]) -> Iterator[str]:
    """Tell what is said of lines of a table, each once for all of its airspeeds."""
    speeds: dict[str, list[str]] = {}
    for row in rows:
        if row.note:
            speeds.setdefault(row.note, []).append(f"{row.ias_kt:.0f}")
    yield from (f"{', '.join(places)} kt: {note}." for note, places in speeds.items())


def _curve_foot(curve: PooledCurve) -> Iterator[str]:
    yield (
        "Corrections are added to the reading; ranges are 95 % bands, and the altimeter is for "
        f"{curve.altitude_ft:.0f} ft."
    )
    yield from row_notes(curve.rows)
    if curve.light_weight_kg is not None:
        shifts = ", ".join(
            f"{row.ias_kt:.0f} kt {row.light_correction_kt:+.1f}"
            for row in curve.rows
            if row.light_correction_kt is not None and row.correction_kt is not None
        )
        yield (
            f"At {curve.light_weight_kg:.0f} kg, the lightest flown, the correction differs by "
            f"more than half the band for another aircraft of the group: {shifts}."
        )
    for sentence in curve.doubts:
        yield f"Doubt: {sentence}."
    for sentence in curve.outside:
        yield f"Beware: {sentence}."
    for sentence in curve.left_out:
        yield f"Left out: {sentence}"


def _curve_details(curve: PooledCurve) -> Iterator[str]:
    yield (
        f"Airframes: whose points reach that IAS at {curve.weight_kg:.0f} kg, brought to that "
        "weight. Flown by: whose indicator showed it, at the weight they flew."
    )
    yield curve.pitot
    yield from model_line(curve)
    if curve.yardstick:
        yield curve.yardstick


CURVE: View[PooledCurve] = View(
    kind="curve",
    rows="rows",
    columns=[
        Column("ias_kt", 0, importance=ALWAYS),
        Column("correction_kt", 1, sign=True, importance=ALWAYS, heading="correction to add"),
        Column("mean_low_kt", 1, sign=True, to="mean_high_kt", heading="the group's mean"),
        Column(
            "next_low_kt",
            1,
            sign=True,
            to="next_high_kt",
            heading="another aircraft of the group",
        ),
        Column("cas_kt", 1),
        Column("altitude_correction_ft", 0, sign=True, heading="altimeter to add"),
        Column("airframes", importance=SPARE),
        Column("flown_by", importance=SPARE),
    ],
    answer=_curve_answer,
    head=_curve_head,
    foot=_curve_foot,
    details=_curve_details,
    cautioned=True,
    tells_of="curve",
)


def numbers_head(found: Judgement | Comparison) -> str:
    """Tell what the airspeeds and the numbers of a quantity are for."""
    quantity, weight = found.quantity, f"{found.weight_kg:.0f} kg"
    if found.altitude_ft is None:
        return f"Airspeeds are {quantity.speed} at {weight}."
    air = f"{weight} in standard air at {found.altitude_ft:.0f} ft"
    if not found.power_state:
        return f"Airspeeds are {quantity.speed} for {air}."
    many = f"{quantity.many[:1].upper()}{quantity.many[1:]}"
    return f"{many} with {found.power_state}; rates are positive upwards, for {air}."


def notes(found: Judgement | Comparison) -> Iterator[str]:
    """Tell how the numbers came about."""
    for note in found.notes:
        yield f"Note: {note}."


def _outliers_answer(judged: Judgement) -> Iterator[str]:
    from fleetcal.services.curves.answer_words import outliers_answer

    yield outliers_answer(judged)


def _outliers_head(judged: Judgement) -> Iterator[str]:
    yield f"{judged.type}, flaps {judged.flap_setting}. {numbers_head(judged)}"


def _outliers_foot(judged: Judgement) -> Iterator[str]:
    for airframe in judged.airframes:
        if airframe.verdict != "inside":
            yield f"{airframe.airframe} {airframe.verdict}: {_brief_reason(airframe)}."
    for sentence in judged.left_out:
        yield f"Not judged: {sentence}."
    yield from judgement_basis(judged)


def _brief_reason(airframe: AirframeVerdict) -> str:
    """Return why a verdict is not inside; of one set aside, why its points do not count."""
    return airframe.why_aside or airframe.reason


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
        f"{counted(judged.judged, 'airframe')} judged together, one in two groups counted twice; "
        f"fitted to {counted(judged.fitted_airframes, 'airframe')}, "
        f"{counted(judged.fitted_sorties, 'sortie')}, "
        f"{counted(judged.fitted_points, judged.quantity.one)}; "
        f"the spread between airframes is estimated with "
        f"{counted(judged.spread_degrees_of_freedom, 'degree')} of freedom (airframes minus "
        "groups)."
    )
    yield (
        "The adjusted p-value allows for having looked at all that were judged, and is no chance: "
        "1.000 says only that among so many one that departs as far is nothing unusual."
    )
    yield from model_line(judged)


OUTLIERS: View[Judgement] = View(
    kind="outliers",
    rows="airframes",
    columns=[
        Column("group", section=True),
        Column("airframe", importance=ALWAYS),
        Column("verdict", importance=ALWAYS),
        Column("largest_departure", IN_UNIT, sign=True, heading="departs most by"),
        Column("at_speed_kt", 0),
        Column("points"),
        Column("others", heading="compared with"),
        Column("p_value", 3, chance=True, importance=DETAIL, heading="p-value"),
        Column("adjusted_p_value", 3, chance=True, importance=DETAIL, heading="adjusted p-value"),
        Column("set_aside", importance=DETAIL),
    ],
    answer=_outliers_answer,
    head=_outliers_head,
    foot=_outliers_foot,
    details=_judgement_details,
    cautioned=True,
)


def _standing_answer(judged: Judgement) -> Iterator[str]:
    from fleetcal.services.curves.answer_words import standing_answer

    for airframe in judged.airframes:
        yield standing_answer(judged.quantity, airframe)


def _standing_body(judged: Judgement) -> Iterator[str]:
    """Tell each departure over the speeds, and how usual it is."""
    from fleetcal.services.curves.answer_words import standing_reasons

    quantity = judged.quantity
    for airframe in judged.airframes:
        if not airframe.rows:
            continue
        if len(judged.airframes) > 1:
            yield f"{airframe.airframe} {_among(quantity, airframe)}:"
        yield standing_reasons(quantity, airframe)
        yield from ["", *text_table(airframe.rows, _DEPARTURE_COLUMNS, quantity), ""]
        if airframe.indicator_never_on_bench:
            yield (
                f"How much of that is the static port is known to {airframe.port_alone_u95:.1f} kt "
                "only: the indicator was never on a bench, and more sorties do not change that."
            )


def _standing_foot(judged: Judgement) -> Iterator[str]:
    quantity = judged.quantity
    for airframe in judged.airframes:
        if airframe.verdict == "set aside" or not airframe.rows:
            where = f"{airframe.airframe} {_among(quantity, airframe)}"
            word = "set aside; " if airframe.verdict == "set aside" else ""
            yield f"{where}: {word}{_brief_reason(airframe)}."
    for detail in judged.details:
        if detail.settles:
            where = f"{detail.airframe} {_among(quantity, detail)}"
            yield f"{where}: what would settle it: {detail.settles}."
    for sentence in judged.left_out:
        yield f"Left out: {sentence}."
    yield from judgement_basis(judged)


def _standing_details(judged: Judgement) -> Iterator[str]:
    """Tell what each verdict rests on."""
    quantity = judged.quantity
    for airframe in judged.airframes:
        yield f"{airframe.airframe} {_among(quantity, airframe)}: {airframe.reason}."
    for detail in judged.details:
        if detail.heaviest:
            shares = "; ".join(
                f"{quantity.one} {p.number} ({p.flown_on}, {p.speed_kt:.0f} kt) "
                f"{p.share_percent:.0f} %"
                for p in detail.heaviest
            )
            yield (
                f"{detail.airframe} {_among(quantity, detail)}: the {quantity.words['many']} that "
                f"count most in its largest departure, with their shares: {shares}."
            )
    yield from _judgement_details(judged)


def _among(quantity: Quantity, one: AirframeVerdict | StandingDetail) -> str:
    return f"in {one.group}" if quantity.by_port else f"with {one.group}"


_DEPARTURE_COLUMNS = [
    Column("speed_kt", 0),
    Column("departure", IN_UNIT, sign=True, heading="departs from the group by"),
    Column("low", IN_UNIT, sign=True, to="high", heading="95 % band of the measurement"),
]


STANDING: View[Judgement] = View(
    kind="standing",
    rows="airframes",
    columns=[Column("airframe"), Column("verdict"), Column("group")],
    answer=_standing_answer,
    head=_outliers_head,
    body=_standing_body,
    foot=_standing_foot,
    details=_standing_details,
    cautioned=True,
)
