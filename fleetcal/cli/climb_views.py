"""How climbs and glides are printed."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from fleetcal.cli.accept_words import accept_words
from fleetcal.cli.left_out_words import left_out_head
from fleetcal.cli.output import ALWAYS, DETAIL, SPARE, Column, View, text_table
from fleetcal.wording import counted, there_are

if TYPE_CHECKING:
    from fleetcal.services.performance.list_climbs import ClimbList
    from fleetcal.services.performance.pool_climbs import PooledClimbs
    from fleetcal.services.performance.reduce_climbs import ReducedClimbs


def _reduced_answer(found: ReducedClimbs) -> Iterator[str]:
    from fleetcal.cli.flight_views import printed_units
    from fleetcal.services.performance.climb_sentences import climb_sentences

    yield from climb_sentences(found, printed_units())


def _reduced_head(found: ReducedClimbs) -> Iterator[str]:
    yield (
        f"{found.source}: {found.airframe}, {found.flown_on}; "
        f"{counted(found.found, f'steady {found.kind}')} found, tagged {found.power_state}"
    )


def _reduced_foot(found: ReducedClimbs) -> Iterator[str]:
    yield (
        "The rate is of real height, unaccelerated, in air of standard temperature, at the weight "
        "flown."
    )
    for row in found.climbs:
        if row.reason:
            yield f"{found.kind.capitalize()} {row.number} is not accepted: {row.reason}."
    if found.known_already:
        yield "This kind of this file is in the store already; nothing was added."
    elif found.stored:
        yield f"Stored: {counted(len(found.climbs), 'measurement')}."
        if not all(row.accepted for row in found.climbs):
            yield accept_words(found.airframe, found.kind)
    else:
        yield "Nothing is stored. To keep it, leave --preview out."


def _reduced_details(found: ReducedClimbs) -> Iterator[str]:
    yield from found.notes


REDUCED_CLIMBS: View[ReducedClimbs] = View(
    kind="reduced_climbs",
    rows="climbs",
    columns=[
        Column("number"),
        Column("vic_kt", 1, heading="IAS"),
        Column("rate_ftmin", 0, sign=True, heading="rate"),
        Column("indicated_rate_ftmin", 0, sign=True, heading="by altimeter"),
        Column("u_own_ftmin", 0, importance=DETAIL),
        Column("pressure_altitude_ft", 0),
        Column("oat_degc", 1),
        Column("weight_kg", 0),
        Column("ways"),
        Column("accepted"),
    ],
    answer=_reduced_answer,
    head=_reduced_head,
    foot=_reduced_foot,
    details=_reduced_details,
    details_hint="Standard uncertainty of each, and what was supposed: --details.",
    cautioned=True,
    tells_of="rate",
)

CLIMBS: View[ClimbList] = View(
    kind="climbs",
    rows="climbs",
    columns=[
        Column("climb_id", importance=ALWAYS, heading="no."),
        Column("airframe", importance=ALWAYS),
        Column("flown_on"),
        Column("kind", once=True),
        Column("power_state", once=True),
        Column("vic_kt", 1),
        Column("rate_ftmin", 0, sign=True),
        Column("accepted"),
        Column("reason", wraps=True),
        Column("barred", wraps=True),
        Column("engine", importance=SPARE, once=True),
        Column("propeller", importance=SPARE, once=True),
    ],
    answer=lambda found: [
        f"{there_are(len(found.climbs), 'climb or glide', 'climbs and glides')}."
    ],
)


def _pooled_answer(found: PooledClimbs) -> Iterator[str]:
    from fleetcal.services.performance.answer_words import climbs_answer

    yield from climbs_answer(found)


def _pooled_head(found: PooledClimbs) -> Iterator[str]:
    yield (
        f"{found.type}, {found.kind}s, {found.pairing}, {found.power_state}, flaps "
        f"{found.flap_setting}, {found.weight_kg:.0f} kg, {found.altitude_ft:.0f} ft standard air: "
        f"{found.airframe or counted(len(found.airframes), 'airframe')}, "
        f"{counted(found.measurements, 'measurement')}. Rates are positive upwards; ranges are "
        "95 % bands."
    )
    yield from left_out_head(found)
    if found.airframe is not None:
        yield f"From {found.airframe}'s own flights alone."


def _airframe_lines(found: PooledClimbs) -> Iterator[str]:
    yield ""
    yield "Airframes against the others of the pairing, where they depart most:"
    yield from text_table(
        found.airframes,
        [
            Column("airframe"),
            Column("measurements"),
            Column("departure_ftmin", 0, sign=True),
            Column("at_cas_kt", 0),
            Column("verdict"),
            Column("p_value", 3, chance=True, importance=DETAIL),
            Column("adjusted_p_value", 3, chance=True, importance=DETAIL),
        ],
    )


def _pooled_foot(found: PooledClimbs) -> Iterator[str]:
    yield "Best speeds, with 95 % intervals:"
    columns = [
        Column("speed"),
        Column("cas_kt", 1),
        Column("low_kt", 1, to="high_kt", heading="95 %"),
        Column("rate_ftmin", 0, sign=True),
        Column("rate_low_ftmin", 0, sign=True, to="rate_high_ftmin", heading="95 %"),
    ]
    if found.kind == "glide":
        columns += [
            Column("ratio", 1),
            Column("ratio_low", 1, to="ratio_high", heading="95 %"),
        ]
    yield from text_table(found.speeds, columns)
    for speed in found.speeds:
        if speed.note:
            yield f"{speed.speed}: {speed.note}."
    if found.indicated:
        yield ""
        yield f"The same as IAS at {found.weight_kg:.0f} kg, by the static source's pooled curve:"
        columns = [
            Column("speed"),
            Column("static_source"),
            Column("ias_kt", 1),
            Column("low_kt", 1, to="high_kt", heading="95 %"),
        ]
        yield from text_table(found.indicated, columns)
    if found.handbook:
        yield ""
        yield "Handbook's CAS minus the pooled curve's, with the 95 % band of the curve's:"
        columns = [
            Column("speed"),
            Column("handbook"),
            Column("handbook_cas_kt", 1),
            Column("difference_kt", 1, sign=True),
            Column("low_kt", 1, sign=True, to="high_kt", heading="95 %"),
        ]
        yield from text_table(found.handbook, columns)
    if found.airframes:
        yield from [*_airframe_lines(found), ""]
    for note in found.notes:
        yield f"Note: {note}."
    for sentence in found.left_out:
        yield f"Left out: {sentence}."
    for sentence in found.doubts:
        yield f"Doubt: {sentence}."


def _pooled_table(found: PooledClimbs) -> Iterator[str]:
    """Yield the rates, with the bands of the group or of the one aircraft."""
    columns = [
        Column("cas_kt", 0, importance=ALWAYS),
        Column("ias_kt", 1),
        Column("rate_ftmin", 0, sign=True, importance=ALWAYS),
    ]
    first = "the group's mean" if found.airframe is None else "this aircraft"
    columns.append(Column("mean_low_ftmin", 0, sign=True, to="mean_high_ftmin", heading=first))
    if found.airframe is None:
        another = "another aircraft of the group"
        columns.append(
            Column("next_low_ftmin", 0, sign=True, to="next_high_ftmin", heading=another)
        )
    yield from ["", *text_table(found.rows, columns)]


def _pooled_details(found: PooledClimbs) -> Iterator[str]:
    yield (
        f"Model: sine of the path times (Vs/V)^2 a polynomial of order {found.order} in (Vs/V)^2, "
        f"level and tilt of each airframe random about it, bands averaged over that spread with a "
        f"Jeffreys-type prior; variances times {found.phi:.2f}."
    )


POOLED_CLIMBS: View[PooledClimbs] = View(
    kind="pooled_climbs",
    rows="rows",
    columns=[],
    answer=_pooled_answer,
    body=_pooled_table,
    head=_pooled_head,
    foot=_pooled_foot,
    details=_pooled_details,
    cautioned=True,
    tells_of="rate",
)
