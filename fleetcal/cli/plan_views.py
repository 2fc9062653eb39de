"""How the plan of a flight is printed."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from fleetcal.cli.output import Column, View, text_table

if TYPE_CHECKING:
    from fleetcal.services.performance.plan_values import FlightPlan
    from fleetcal.services.performance.settle_question import Outlook


def _plan_head(plan: FlightPlan) -> Iterator[str]:
    yield (
        f"Next flight of {plan.airframe} ({plan.group}, flaps {plan.flap_setting}), "
        f"{plan.weight_kg:.0f} kg, pressure altitude {plan.altitude_ft:.0f} ft, about "
        f"{plan.minutes:.0f} minutes of runs"
    )
    now = "nothing is known of it now"
    if plan.largest_before_kt is not None:
        now = f"±{plan.largest_before_kt:.1f} kt at {plan.largest_at_kt:.0f} kt now"
    yield (
        f"largest band of its {plan.band_of}: {now}, ±{plan.largest_after_kt:.1f} kt after this "
        f"flight (±{plan.largest_equal_kt:.1f} kt after as many equally spaced points)"
    )


def _plan_foot(plan: FlightPlan) -> Iterator[str]:
    if len(plan.runs) > 1:
        keep = sorted(plan.runs, key=lambda run: run.helps)
        first = ", ".join(f"{run.ias_kt:.0f}" for run in keep)
        yield f"Of a flight cut short keep what helps most, in this order: {first} kt."
    yield "Headings, with track and ground speed to be expected in standard air:"
    for run in plan.runs:
        legs = "; ".join(
            f"{leg.heading_deg:03.0f} (track {leg.track_deg:03.0f}, {leg.ground_speed_kt:.0f} kt)"
            for leg in run.legs
        )
        yield f"  {run.ias_kt:.0f} kt: {legs}"
    if sum(run.repeats for run in plan.runs) > 1:
        yield (
            "The order of the headings alternates from run to run, so that a changing wind cancels."
        )
    for run in plan.runs:
        if run.smooth_air_only:
            yield f"{run.ias_kt:.0f} kt lies above the manoeuvring speed: in smooth air only."
    for limit in plan.limits:
        yield f"Limit, {limit.name}: {limit.usable_kt} kt. {limit.because}."
    for line in plan.card:
        yield f"{line}."
    for note in plan.notes:
        yield f"Note: {note}."
    yield "Tolerances and times are common practice; the crew decides what is safe."
    if plan.outlook is not None:
        yield from ["", *_outlook(plan.outlook)]


def _outlook(outlook: Outlook) -> Iterator[str]:
    yield f"Question: {outlook.asked}"
    yield f"Settled: {outlook.settled_means}."
    yield f"Now: {outlook.now}."
    yield f"{outlook.answer}."
    yield "Chances after so many sorties like the planned one, in percent:"
    shown = "outside" if outlook.question == "standing" else "found"
    yield f"(shown: the part of settled that is {shown})"
    columns = [Column("sorties"), Column("settled_percent", 0), Column("shown_percent", 0)]
    yield from text_table(outlook.rows, columns)


PLAN: View[FlightPlan] = View(
    kind="flight_plan",
    rows="runs",
    columns=[
        Column("order"),
        Column("ias_kt", 0),
        Column("repeats"),
        Column("helps"),
        Column("before_kt", 1),
        Column("after_kt", 1),
        Column("smooth_air_only"),
    ],
    head=_plan_head,
    foot=_plan_foot,
    cautioned=True,
    tells_of="curve",
)
