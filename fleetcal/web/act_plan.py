"""Plan the next flight of an airframe, and its card."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final
from urllib.parse import urlencode

from flask import Blueprint, request
from werkzeug.wrappers import Response

from fleetcal.errors import FleetcalError
from fleetcal.plain_text import file_stem
from fleetcal.publish.flight_card import LEG_BOXES, MOST_RUNS
from fleetcal.publish.flight_card_html import card_style, card_values
from fleetcal.publish.templating import render
from fleetcal.services.fleet.known_names import names_of
from fleetcal.services.performance.campaign_words import campaign_answer, campaign_steps
from fleetcal.services.performance.plan_campaign import plan_campaign
from fleetcal.services.performance.plan_flight import PlanRequest, plan_flight
from fleetcal.services.performance.plan_values import FlightPlan
from fleetcal.services.performance.plan_words import plan_answer
from fleetcal.services.performance.write_card import flight_card, write_card
from fleetcal.web.acting import FLEET_TRAIL, Act, refused, shown
from fleetcal.web.fields import Field, Typed, read_fields
from fleetcal.web.files import attachment, private_folder
from fleetcal.web.page_words import on_pages
from fleetcal.web.shown import frame_of, the_desk

act_plan = Blueprint("act_plan", __name__)
_PLAN: Final = Act(
    words="plan",
    title="Plan the next flight",
    subject="Which speeds tell most, and what they should leave",
    fields=(
        Field(name="airframe", label="Airframe", kind="choice", required=True),
        Field(name="points", label="Runs to fly", kind="count", low=1, high=20),
        Field(
            name="altitude_ft",
            label="Pressure altitude",
            kind="number",
            unit="ft",
            low=0.0,
            high=20000.0,
        ),
        Field(
            name="wind_from_deg",
            label="Expected wind from",
            kind="number",
            low=0.0,
            high=360.0,
            advice="Degrees; headings and ground speeds on the card follow it.",
        ),
        Field(name="wind_kt", label="Expected wind", kind="number", unit="kt", low=0.0, high=200.0),
        Field(
            name="weight_kg",
            label="Expected weight",
            kind="number",
            unit="kg",
            low=1.0,
            high=100000.0,
            advice="The usual weight of the type if left empty.",
        ),
        Field(
            name="fastest_kt",
            label="Nothing faster than",
            kind="number",
            unit="kt",
            low=20.0,
            high=400.0,
            advice="What level flight reaches, or the test programme has opened.",
        ),
        Field(name="flap_setting", label="Flap setting", advice="Up if left empty."),
        Field(
            name="sorties",
            label="Sorties the runs are split over",
            kind="count",
            low=1,
            high=3,
            advice="Chosen by what that gains if left empty.",
        ),
        Field(
            name="question",
            label="How many such sorties settle a question",
            kind="choice",
            choices=(
                ("standing", "whether it stands inside its group"),
                ("change", "whether its last change mattered"),
            ),
        ),
        Field(name="rough_air", label="Nothing above the manoeuvring speed", kind="tick"),
        Field(name="campaign", label="Plan flight after flight, until the aim", kind="tick"),
        Field(
            name="within_kt",
            label="The aim: known within",
            kind="number",
            unit="kt",
            low=0.1,
            high=20.0,
            advice="At all speeds, either way; 1 kt if left empty.",
        ),
    ),
    button="Plan it",
    after=("Nothing is kept: plan as often as you like.",),
    trail=(FLEET_TRAIL,),
    fold=("weight_kg", "fastest_kt", "flap_setting", "sorties", "question", "rough_air"),
    fold_line="Weight, limits, flaps, sorties",
    template="desk_plan.html",
)
_START: Final = {"points": "4", "altitude_ft": "4000"}
_PAPERS: Final = ("a4", "letter")


@act_plan.get("/plan")
def plan() -> Response | str:
    """Plan a flight, or a campaign; the answer stands first."""
    act, given = _act(), request.args
    if not given.get("airframe"):
        return shown(act, _START, method="get")
    query = urlencode([(f.name, given[f.name]) for f in act.fields if given.get(f.name)])
    try:
        typed = read_fields(act.fields, given)
        found = _campaign(typed) if typed.tick("campaign") else _flight(typed)
    except FleetcalError as error:
        if set(given) == {"airframe"}:  # a link, and not yet a form
            return shown(act, {**_START, **given}, error=error, method="get")
        return refused(act, given, error, method="get")
    return shown(act, {**_START, **given}, method="get", query=query, **found)


@act_plan.get("/plan/card")
def card() -> Response | str:
    """Show the card of the first sortie as a page to print."""
    try:
        made = flight_card(_planned(read_fields(_act().fields, request.args)))
    except FleetcalError as error:
        return refused(_act(), request.args, error, method="get")
    return render(
        "desk_card.html",
        frame=frame_of(),
        sheet=f"runs={len(made.runs)}",
        query=request.query_string.decode("ascii", "replace"),
        **card_values(made),
    )


@act_plan.get("/plan/card.css")
def style() -> Response:
    """Return the style of a card, whose rows fill the page."""
    text = request.args.get("runs", "")
    runs = int(text) if text in [str(number) for number in range(1, MOST_RUNS + 1)] else MOST_RUNS
    return Response(render("desk_card.css", **card_style(runs)), mimetype="text/css")


@act_plan.get("/plan/card.pdf")
def card_file() -> Response | str:
    """Send the card as PDF."""
    try:
        made = _planned(read_fields(_act().fields, request.args))
        with private_folder() as folder:
            path = folder / f"{file_stem('card', made.airframe)}.pdf"
            paper = request.args.get("paper", "")
            write_card(made, path, paper if paper in _PAPERS else _PAPERS[0])
            return attachment(path)
    except FleetcalError as error:
        return refused(_act(), request.args, error, method="get")


@act_plan.get("/plan/blank")
def blank() -> str:
    """Show a sheet for legs to be written down on, of any airframe."""
    return render(
        "desk_blank.html", frame=frame_of(), title="Sheet for legs", boxes=LEG_BOXES, runs=range(5)
    )


def _act() -> Act:
    tags = names_of(the_desk().store).airframes
    return _PLAN.with_choices(airframe=[(tag, tag) for tag in tags])


def _request(typed: Typed) -> PlanRequest:
    altitude_ft = typed.number("altitude_ft")
    return PlanRequest(
        airframe=typed.text("airframe"),
        points=typed.count("points") or 4,
        sorties=typed.count("sorties"),
        flap_setting=typed.text("flap_setting") or None,
        weight_kg=typed.number("weight_kg"),
        altitude_ft=4000.0 if altitude_ft is None else altitude_ft,
        wind_from_deg=typed.number("wind_from_deg"),
        wind_kt=typed.number("wind_kt"),
        rough_air=typed.tick("rough_air"),
        question=typed.text("question") or None,
        fastest_kt=typed.number("fastest_kt"),
    )


def _planned(typed: Typed) -> FlightPlan:
    """Return the plan whose card is meant: of a campaign, that of its next flight."""
    if typed.tick("campaign"):
        found = plan_campaign(the_desk().store, _request(typed), typed.number("within_kt") or 1.0)
        if found.next is not None:
            return found.next
    return plan_flight(the_desk().store, _request(typed))


def _flight(typed: Typed) -> Mapping[str, Any]:
    made = plan_flight(the_desk().store, _request(typed))
    return {"answers": tuple(plan_answer(made)), "plan": made, "campaign": None, "steps": ()}


def _campaign(typed: Typed) -> Mapping[str, Any]:
    within_kt = typed.number("within_kt") or 1.0
    made = plan_campaign(the_desk().store, _request(typed), within_kt)
    return {
        "answers": [on_pages(one, _PLAN.fields) for one in campaign_answer(made)],
        "plan": made.next,
        "campaign": made,
        "steps": tuple(campaign_steps(made)),
    }
