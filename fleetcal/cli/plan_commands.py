"""The command that plans the next flight."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, TypedDict, Unpack

import click

from fleetcal.cli.option_types import Number
from fleetcal.cli.options import (
    file_option,
    open_chosen_store,
    own_tag_argument,
    paper_option,
    weight_option,
)
from fleetcal.cli.printer import echo
from fleetcal.cli.verbs import Verb

if TYPE_CHECKING:
    from fleetcal.services.performance.plan_flight import FlightPlan


class PlanOptions(TypedDict):
    """What is asked of a plan, as `PlanRequest` has it."""

    points: int
    sorties: int | None
    weight_kg: float | None
    altitude_ft: float
    wind_from_deg: float | None
    wind_kt: float | None
    rough_air: bool
    flap_setting: str | None
    question: str | None
    fastest_kt: float | None


@click.command(cls=Verb, shared=("format",))
@own_tag_argument("airframe")
@click.option(
    "--points", type=click.IntRange(1, 20), default=4, show_default=True, help="Runs to fly."
)
@click.option(
    "--sorties",
    type=click.IntRange(1, 3),
    help="Over which the runs are split; chosen by what that gains if left out.",
)
@weight_option(help="Expected; the reference weight if left out.")
@click.option(
    "--altitude-ft",
    type=Number(0.0, 20000.0),
    default=4000.0,
    show_default=True,
    help="Pressure altitude.",
)
@click.option(
    "--wind-from-deg", type=Number(0.0, 360.0), help="Expected, for headings and ground speeds."
)
@click.option("--wind-kt", type=Number(0.0, 200.0), help="Expected; calm if left out.")
@click.option("--rough-air", is_flag=True, help="Propose nothing above the manoeuvring speed.")
@click.option(
    "--fastest-kt",
    type=Number(20.0, 400.0),
    help="Propose nothing faster: what level flight reaches, or the test programme has opened.",
)
@click.option(
    "--flap-setting",
    metavar="TEXT",
    help="Up if left out; says so if another setting is known less well.",
)
@click.option(
    "--question",
    type=click.Choice(["standing", "change"]),
    help="How many such sorties settle it, each number with its chance.",
)
@click.option(
    "--campaign",
    is_flag=True,
    help="Plan one flight after the other, of --points runs each, until --within-kt is reached.",
)
@click.option(
    "--within-kt",
    type=Number(0.1, 20.0),
    default=1.0,
    show_default=True,
    help="Of a campaign: how well the correction is to be known, ±, at all speeds.",
)
@file_option(
    "--out",
    help="Write the test card of the first sortie into this file: .pdf, .html or .txt; at most 6 "
    "runs.",
)
@paper_option
def plan(
    airframe: str,
    out: Path | None,
    paper: str,
    campaign: bool,
    within_kt: float,
    **options: Unpack[PlanOptions],
) -> None:
    """Plan the next flight of the airframe TAG: its sorties, speeds and headings.

    From what is known of the airframe, and of its group if it has one, the runs are
    chosen so that the largest band of the airframe's own correction, in knots, becomes
    smallest. That works before its first flight too. No speed below 1.3 times the
    stall speed or beyond what a large group flew is proposed, nor above 0.9 of never
    exceed as the static source that is fitted shows it.

    What one, two and three sorties of the same runs would gain is printed. Another
    sortie is proposed where it takes at least a tenth more off the largest band, and
    0.05 kt at least; --sorties chooses otherwise.

    --campaign says how many flights are left until the correction is known to
    --within-kt at all speeds, which, and what the last flight changed. Run it again
    after each flight; the card is of the next one.

    --question standing asks how many such sorties would settle whether the airframe
    stands inside its group; --question change whether its last change mattered.
    Each number of sorties is given with its chance; a change is assumed to be of the
    usual size, about 2 kt.

    \b
    Example:
      fleetcal plan C-07
      fleetcal plan C-07 --points 6 --wind-from-deg 240 --wind-kt 15 --out card.pdf
      fleetcal plan C-07 --points 6 --sorties 2
      fleetcal plan C-07 --campaign --within-kt 1.5 --out card.pdf
      fleetcal plan C-07 --question standing
    """
    from fleetcal.cli.campaign_views import CAMPAIGN
    from fleetcal.cli.output import emit
    from fleetcal.cli.plan_views import PLAN
    from fleetcal.services.performance.plan_campaign import plan_campaign
    from fleetcal.services.performance.plan_flight import PlanRequest, plan_flight

    request = PlanRequest(airframe=airframe, **options)
    if campaign:
        with open_chosen_store() as store:
            found = plan_campaign(store, request, within_kt)
        planned = found.next
        if out is not None and planned is not None:
            _write_card(planned, out, paper)
        emit(found, CAMPAIGN)
    else:
        with open_chosen_store() as store:
            planned = plan_flight(store, request)
        if out is not None:
            _write_card(planned, out, paper)
        emit(planned, PLAN)
    if out is not None:
        echo(f"Test card: {out}" if planned else "No flight is left, so no card.", err=True)


def _write_card(planned: FlightPlan, out: Path, paper: str) -> None:
    from fleetcal.services.performance.write_card import write_card

    write_card(planned, out, paper)
