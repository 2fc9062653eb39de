"""What is asked of a table that is published: the fields, and the request they make."""

from __future__ import annotations

from dataclasses import replace
from typing import Final
from urllib.parse import urlencode

from flask import request

from fleetcal.publish.table_form import SPEED_UNITS
from fleetcal.services.curves.pooled_curve import CurveRequest
from fleetcal.services.fleet.known_names import names_of
from fleetcal.services.publishing.publish_curve import Layout
from fleetcal.web.acting import FLEET_TRAIL, Act
from fleetcal.web.fields import Field, Typed
from fleetcal.web.shown import the_desk

_TABLE: Final = Act(
    words="publish",
    title="Publish a table",
    subject="A table of corrections to give away, of a group or of one airframe",
    fields=(
        Field(
            name="group",
            label="Group or airframe",
            required=True,
            advice="Such as wing boom, wing boom / 75 kW four / two-blade fixed, or C-07.",
        ),
        Field(
            name="weight_kg",
            label="For a weight of",
            kind="number",
            unit="kg",
            low=1.0,
            high=100000.0,
            advice="The usual weight of the type if left empty.",
        ),
        Field(
            name="altitude_ft",
            label="Altimeter corrections for a pressure altitude of",
            kind="number",
            unit="ft",
            low=-1000.0,
            high=30000.0,
        ),
        Field(
            name="speed_unit",
            label="Unit of speed",
            kind="choice",
            choices=tuple((unit, unit) for unit in SPEED_UNITS),
        ),
        Field(name="step", label="Rows apart, in that unit", kind="number", low=0.5, high=50.0),
        Field(
            name="direction",
            label="Which speed is looked up",
            kind="choice",
            choices=(("ias-to-cas", "indicated airspeed"), ("cas-to-ias", "calibrated airspeed")),
        ),
        Field(name="type", label="Type, where several have such a group"),
        Field(name="flaps", label="Flap setting", advice="Up if left empty."),
        Field(
            name="paper",
            label="Paper",
            kind="choice",
            choices=(("a4", "A4"), ("letter", "letter")),
        ),
    ),
    button="Show the table",
    after=("Nothing is kept by looking at a table or downloading it.",),
    fold=("direction", "type", "flaps", "paper"),
    fold_line="Direction, type, flaps, paper",
    template="desk_table.html",
    trail=(FLEET_TRAIL,),
)
TABLE_START: Final = {
    "altitude_ft": "0",
    "speed_unit": "kt",
    "step": "5",
    "direction": "ias-to-cas",
    "paper": "a4",
}


def table_form() -> Act:
    """Return the form, which offers the names that the store knows."""
    names = names_of(the_desk().store)
    known = {"group": (*names.airframes, *names.groups), "type": names.types}
    fields = (replace(one, suggestions=known.get(one.name, ())) for one in _TABLE.fields)
    return replace(_TABLE, fields=tuple(fields))


def table_query() -> str:
    """Return what was chosen as the end of an address."""
    given = request.args
    return urlencode([(f.name, given[f.name]) for f in _TABLE.fields if given.get(f.name)])


def request_of(typed: Typed, formats: tuple[str, ...] = ()) -> tuple[CurveRequest, Layout]:
    """Return what was chosen as services take it.

    Args:
        formats: Of files; every one when left out.
    """
    layout = Layout(typed.text("direction") or "ias-to-cas", typed.text("speed_unit") or "kt")
    layout = replace(layout, paper=typed.text("paper") or "a4", formats=formats or layout.formats)
    chosen = CurveRequest(
        group=typed.text("group"),
        type=typed.text("type") or None,
        flap_setting=typed.text("flaps") or "up",
        weight_kg=typed.number("weight_kg"),
        altitude_ft=typed.number("altitude_ft") or 0.0,
        step_kt=(typed.number("step") or 5.0) / layout.form.per_kt,
    )
    return chosen, layout
