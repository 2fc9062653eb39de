"""How the plan of a flight is printed."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

from fleetcal.cli.output import Column, View, text_table
from fleetcal.wording import counted

if TYPE_CHECKING:
    from fleetcal.services.performance.plan_values import FlightPlan
    from fleetcal.services.performance.settle_question import Outlook


_NUMBERS: Final = ("no", "one", "two", "three")


def _plan_answer(plan: FlightPlan) -> Iterator[str]:
    from fleetcal.services.performance.plan_words import plan_answer

    yield from plan_answer(plan)


def _plan_head(plan: FlightPlan) -> Iterator[str]:
    if plan.outlook is not None:
        yield f"Question: {plan.outlook.asked}"
    for number in range(1, plan.sorties + 1):
        mine = [run for run in plan.runs if run.sortie == number]
        speeds = [
            f"{r.repeats} x {r.ias_kt:.0f} kt" if r.repeats > 1 else f"{r.ias_kt:.0f} kt"
            for r in mine
        ]
        which = f"Sortie {number}" if plan.sorties > 1 else "In this order"
        yield f"{which}: {', '.join(speeds)}"
    yield (
        f"{plan.group}, flaps {plan.flap_setting}, {plan.weight_kg:.0f} kg, pressure altitude "
        f"{plan.altitude_ft:.0f} ft."
    )


def _ways(plan: FlightPlan) -> Iterator[str]:
    """Yield what each way of flying would leave."""
    yield "The largest band that would be left:"
    for way in plan.weighed:
        sorties = "one sortie" if way.sorties == 1 else f"{_NUMBERS[way.sorties]} sorties"
        runs = " + ".join([*map(str, way.runs[:-1]), counted(way.runs[-1], "run")])
        mark = "  <- this plan" if way.proposed else ""
        yield f"  ±{way.largest_after_kt:.2f} kt  {runs} in {sorties}{mark}"
    yield f"  ±{plan.largest_equal_kt:.2f} kt  one sortie, its speeds equally spaced"
    other = plan.ordinary
    stored = f"the {other.learnt_from} in the store" if other.learnt_from else "simulated ones"
    flights = f"{_NUMBERS[other.flights]} ordinary flights"
    yield f"  ±{other.largest_after_kt:.2f} kt  {flights} instead (like {stored})"
    if len(plan.weighed) > 1 and plan.outlook is None:
        yield "More sorties are proposed where each takes a tenth more off; --sorties chooses."


def _plan_foot(plan: FlightPlan) -> Iterator[str]:
    yield from _ways(plan)
    yield from _cut_short(plan)
    yield from _headings(plan)
    for speed in sorted({run.ias_kt for run in plan.runs if run.smooth_air_only}, reverse=True):
        yield f"{speed:.0f} kt lies above the manoeuvring speed: in smooth air only."
    for limit in plan.limits:
        yield f"Limit, {limit.name}: {limit.usable_kt} kt."
    yield ""
    for line in plan.card:
        yield f"{line}."
    for note in plan.notes:
        yield f"Note: {note}."
    yield "Tolerances and times are common practice; the crew decides what is safe."
    if plan.outlook is not None:
        yield from ["", *_outlook(plan.outlook)]


def _plan_details(plan: FlightPlan) -> Iterator[str]:
    """Tell where each limit comes from, and which bands these are."""
    if plan.own:
        yield "Bands are those at 95 % that 'curve' prints for this aircraft."
    else:
        yield (
            "Bands suppose the spread that the group shows; errors that last from flight to "
            "flight, and what the group's curve does not follow, are left out. --campaign has both."
        )
    for limit in plan.limits:
        yield f"Limit, {limit.name}: {limit.usable_kt} kt. {limit.because}."


def _cut_short(plan: FlightPlan) -> Iterator[str]:
    for number in range(1, plan.sorties + 1):
        mine = [run for run in plan.runs if run.sortie == number]
        if len(mine) > 1:
            first = ", ".join(f"{r.ias_kt:.0f} kt" for r in sorted(mine, key=lambda run: run.helps))
            which = "a flight" if plan.sorties == 1 else f"sortie {number}"
            yield f"Of {which} cut short keep what helps most, in this order: {first}."
    if plan.sorties > 1:
        left = sum(plan.weighed[plan.sorties - 1].runs[1:])
        yield (
            f"Reduce sortie 1 before you fly on, and plan the other {left} runs again: they are "
            "chosen better then, and the wind is that of their day."
        )


def _headings(plan: FlightPlan) -> Iterator[str]:
    yield ""
    yield "Headings, with track and ground speed to be expected in standard air:"
    for run in plan.runs:
        legs = "; ".join(
            f"{leg.heading_deg:03.0f} (track {leg.track_deg:03.0f}, {leg.ground_speed_kt:.0f} kt)"
            for leg in run.legs
        )
        which = "" if plan.sorties == 1 else f"sortie {run.sortie}, "
        yield f"  {which}{run.ias_kt:.0f} kt: {legs}"
    if sum(run.repeats for run in plan.runs) > 1:
        yield "The order of the headings alternates from run to run, which saves a turn."


def _outlook(outlook: Outlook) -> Iterator[str]:
    yield f"Settled: {outlook.settled_means}."
    yield f"Now: {outlook.now}."
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
        Column("sortie"),
        Column("ias_kt", 0),
        Column("repeats"),
        Column("helps"),
        Column("before_kt", 1, heading="known to now, ±"),
        Column("after_kt", 1, heading="afterwards, ±"),
        Column("smooth_air_only"),
    ],
    answer=_plan_answer,
    head=_plan_head,
    foot=_plan_foot,
    details=_plan_details,
    details_hint="Where the limits come from, and what is assumed: --details.",
    cautioned=True,
    tells_of="curve",
)
