"""How climbs and glides are printed."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from fleetcal.cli.left_out_words import left_out_head
from fleetcal.cli.output import DETAIL, Column, View, text_table
from fleetcal.wording import counted

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
        Column("climb_id"),
        Column("airframe"),
        Column("flown_on"),
        Column("kind"),
        Column("power_state"),
        Column("engine"),
        Column("propeller"),
        Column("vic_kt", 1),
        Column("rate_ftmin", 0, sign=True),
        Column("accepted"),
        Column("reason"),
        Column("barred"),
    ],
    head=lambda found: [counted(len(found.climbs), "climb or glide", "climbs and glides")],
)


def _pooled_head(found: PooledClimbs) -> Iterator[str]:
    yield (
        f"{found.type}, {found.kind}s, {found.pairing}, {found.power_state}, flaps "
        f"{found.flap_setting}, {found.weight_kg:.0f} kg, {found.altitude_ft:.0f} ft standard air"
    )
    yield (
        f"{found.airframe or counted(len(found.airframes), 'airframe')}, "
        f"{counted(found.measurements, 'measurement')}; rates in feet a minute, positive upwards"
    )
    yield from left_out_head(found)
    if found.airframe is not None:
        yield f"From {found.airframe}'s own flights alone; both bands are its own, at 95 %."
        return
    yield "mean: 95 % band of the group's mean curve; next: 95 % band for its next aircraft"


def _airframe_lines(found: PooledClimbs) -> Iterator[str]:
    yield "Airframes against the others of the pairing, where they depart most:"
    yield from text_table(
        found.airframes,
        [
            Column("airframe"),
            Column("measurements"),
            Column("departure_ftmin", 0, sign=True),
            Column("at_cas_kt", 0),
            Column("p_value", 3, chance=True),
            Column("adjusted_p_value", 3, chance=True),
            Column("verdict"),
        ],
    )


def _pooled_foot(found: PooledClimbs) -> Iterator[str]:
    yield "Best speeds, 95 % intervals, in kt:"
    columns = [
        Column("speed"),
        Column("cas_kt", 1),
        Column("low_kt", 1),
        Column("high_kt", 1),
        Column("rate_ftmin", 0, sign=True),
        Column("rate_low_ftmin", 0, sign=True),
        Column("rate_high_ftmin", 0, sign=True),
    ]
    if found.kind == "glide":
        columns += [Column("ratio", 1), Column("ratio_low", 1), Column("ratio_high", 1)]
    yield from text_table(found.speeds, columns)
    for speed in found.speeds:
        if speed.note:
            yield f"{speed.speed}: {speed.note}."
    if found.indicated:
        yield f"The same as IAS at {found.weight_kg:.0f} kg, by the static source's pooled curve:"
        columns = [
            Column("speed"),
            Column("static_source"),
            Column("ias_kt", 1),
            Column("low_kt", 1),
            Column("high_kt", 1),
        ]
        yield from text_table(found.indicated, columns)
    if found.handbook:
        yield "Handbook's CAS minus the pooled curve's, with the 95 % band of the curve's:"
        columns = [
            Column("speed"),
            Column("handbook"),
            Column("handbook_cas_kt", 1),
            Column("difference_kt", 1, sign=True),
            Column("low_kt", 1, sign=True),
            Column("high_kt", 1, sign=True),
        ]
        yield from text_table(found.handbook, columns)
    if found.airframes:
        yield from _airframe_lines(found)
    for note in found.notes:
        yield f"Note: {note}."
    for sentence in found.left_out:
        yield f"Left out: {sentence}."
    for sentence in found.doubts:
        yield f"Doubt: {sentence}."


def _pooled_details(found: PooledClimbs) -> Iterator[str]:
    yield (
        f"Model: sine of the path times (Vs/V)^2 a polynomial of order {found.order} in (Vs/V)^2, "
        f"level and tilt of each airframe random about it, bands averaged over that spread with a "
        f"Jeffreys-type prior; variances times {found.phi:.2f}."
    )


POOLED_CLIMBS: View[PooledClimbs] = View(
    kind="pooled_climbs",
    rows="rows",
    columns=[
        Column("cas_kt", 0),
        Column("ias_kt", 1),
        Column("rate_ftmin", 0, sign=True),
        Column("mean_low_ftmin", 0, sign=True),
        Column("mean_high_ftmin", 0, sign=True),
        Column("next_low_ftmin", 0, sign=True),
        Column("next_high_ftmin", 0, sign=True),
    ],
    head=_pooled_head,
    foot=_pooled_foot,
    details=_pooled_details,
    cautioned=True,
    tells_of="rate",
)
