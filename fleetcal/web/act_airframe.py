"""Describe airframes and types: new ones, what was left open, a change of equipment, a fleet."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Final

from flask import Blueprint, request
from werkzeug.wrappers import Response

from fleetcal.errors import DataError, UnknownNameError
from fleetcal.publish.site.content_airframe import airframe_path
from fleetcal.services.fleet.airframe_answers import AirframeAnswers
from fleetcal.services.fleet.describe_airframe import (
    AirframeDescribed,
    AirframeShown,
    describe_airframe,
    show_airframe,
)
from fleetcal.services.fleet.describe_fleet import set_thermometer
from fleetcal.services.fleet.known_names import names_of
from fleetcal.web.acting import FLEET_TRAIL, Act, answer, note_done
from fleetcal.web.fields import Field, Typed
from fleetcal.web.shown import the_desk

act_airframe = Blueprint("act_airframe", __name__)
_TAG: Final = Field(
    name="tag",
    label="Tag",
    required=True,
    advice="How you call it, such as C-07. Pages and cards show the tag.",
)
_TYPE: Final = Field(
    name="type",
    label="Type",
    advice="Such as Corrie 2. Airframes of one type with the same static source, engine and "
    "propeller are pooled.",
)
_EQUIPMENT: Final = (
    Field(name="static_source", label="Static source", advice="Such as wing boom."),
    Field(name="engine", label="Engine", advice="Such as 75 kW four."),
    Field(name="propeller", label="Propeller", advice="Such as two-blade fixed."),
)
_AMOUNTS: Final = (
    Field(
        name="stall_kt",
        label="Stall speed of the type, flaps up",
        kind="number",
        unit="kt",
        low=10.0,
        high=300.0,
        advice="A number alone is in kt; 48 mph will do too.",
    ),
    Field(
        name="weight_kg",
        label="Usual take-off weight of the type",
        kind="number",
        unit="kg",
        low=1.0,
        high=100000.0,
        advice="A number alone is in kg; 1290 lb will do too.",
    ),
)
_REST: Final = (
    Field(name="pitot", label="Pitot, if there is a choice"),
    Field(name="registration", label="Registration"),
    Field(name="note", label="Note to keep with it"),
)
_OPEN: Final = (
    "Nothing is needed but the tag. What is left empty can be said later: flights that are kept "
    "follow, and none is reduced again."
)
_NEW: Final = Act(
    words="fleet airframe",
    title="A new airframe",
    fields=(_TAG, _TYPE, *_EQUIPMENT, *_AMOUNTS, *_REST),
    button="Keep it",
    intro=(_OPEN,),
    fold=("pitot", "registration", "note"),
    fold_line="Pitot, registration, note",
)
_DESCRIBE: Final = replace(
    _NEW,
    fields=(_TYPE, *_EQUIPMENT, *_AMOUNTS, *_REST),
    intro=("An empty field leaves what is known. This corrects what was said of the equipment.",),
)
_CHANGE: Final = Act(
    words="fleet airframe, change of equipment",
    title="Another equipment from a day on",
    fields=(
        Field(name="since", label="First day with it", kind="day", required=True),
        *_EQUIPMENT,
        Field(name="pitot", label="Pitot"),
    ),
    button="Keep the change",
    intro=(
        "Flights before that day stay with the former equipment, and count in its group. Fill in "
        "what was changed.",
    ),
)
_DISPLAY: Final = Act(
    words="fleet temperature",
    title="What does its temperature display show?",
    fields=(
        Field(
            name="shows",
            label="It shows",
            kind="choice",
            required=True,
            choices=(
                ("ambient", "outside temperature, the ram rise taken out"),
                ("probe", "what its probe feels"),
                ("unknown", "it is not known"),
            ),
        ),
        Field(
            name="recovery_factor",
            label="Recovery factor of the probe, where it is known",
            kind="number",
            low=0.0,
            high=1.0,
        ),
    ),
    button="Keep it",
    intro=(
        "At 100 kt a probe feels up to 1.3 degrees too much. Until it is stated, anything between "
        "is taken as equally likely, and every point is less certain.",
    ),
    after=("Flights that are kept follow when they are reduced again. History takes it back.",),
)


@act_airframe.route("/do/airframe", methods=["GET", "POST"])
def new_airframe() -> Response | str:
    """Put a new airframe into the store."""

    def do(typed: Typed) -> str:
        tag = typed.text("tag")
        if show_airframe(the_desk().store, tag) is not None:
            raise DataError(f"{tag} is in the store already", "describe it further on its own page")
        return _describe(tag, typed)

    return answer(_suggesting(_NEW), request.args, do)


@act_airframe.route("/do/describe", methods=["GET", "POST"])
def describe() -> Response | str:
    """Say more of an airframe, or correct what was said."""
    known = the_airframe()
    act = about(_suggesting(_DESCRIBE), known.airframe)
    return answer(
        replace(act, title=f"Describe {known.airframe}"),
        _as_typed(known),
        lambda typed: _describe(known.airframe, typed),
    )


@act_airframe.route("/do/equipment", methods=["GET", "POST"])
def change_equipment() -> Response | str:
    """Say what an airframe carries from a day on."""
    known = the_airframe()

    def do(typed: Typed) -> str:
        if not any(typed.text(field.name) for field in _CHANGE.fields if field.kind == "text"):
            raise DataError("no new equipment was named", "fill in what was changed")
        return _describe(known.airframe, typed)

    parts = (known.static_source, known.engine, known.propeller, known.pitot)
    carried = ", ".join(part for part in parts if part) or "nothing was described yet"
    now = f"Now it carries: {carried}."
    act = about(_suggesting(_CHANGE), known.airframe)
    return answer(replace(act, intro=(now, *act.intro)), request.args, do)


@act_airframe.route("/do/thermometer", methods=["GET", "POST"])
def thermometer() -> Response | str:
    """Say what the temperature display of an airframe shows."""
    tag = the_airframe().airframe

    def do(typed: Typed) -> str:
        shows, factor = typed.text("shows"), typed.number("recovery_factor")
        if factor is not None and shows != "probe":
            raise DataError(
                "a recovery factor is of a probe", "choose what its probe feels, or leave it empty"
            )
        now = set_thermometer(the_desk().store, tag, None if shows == "unknown" else shows, factor)
        note_done(f"{tag}: {now}.")
        return airframe_path(tag)

    return answer(about(_DISPLAY, tag), request.args, do)


def the_airframe() -> AirframeShown:
    """Return the airframe that the address names.

    Raises:
        UnknownNameError: If there is no such airframe.
    """
    tag = request.args.get("airframe", "")
    known = show_airframe(the_desk().store, tag)
    if known is None:
        raise UnknownNameError(
            f"there is no airframe {tag!r} in the store", "begin on the page of the airframe"
        )
    return known


def about(act: Act, tag: str) -> Act:
    """Return a form as one about an airframe, with the way back to its page."""
    return replace(act, subject=tag, trail=(FLEET_TRAIL, (tag, airframe_path(tag))))


def _suggesting(act: Act) -> Act:
    """Return a form that offers the names that the store knows."""
    store = the_desk().store
    names = names_of(store)
    pairs = [pair.partition(" / ") for pair in names.pairings]
    known = {
        "type": names.types,
        "static_source": names.static_sources,
        "engine": sorted({engine for engine, _, _ in pairs}),
        "propeller": sorted({propeller for _, _, propeller in pairs}),
    }
    described = {
        name: [one for one in values if not one.startswith("not described")]
        for name, values in known.items()
    }
    return replace(
        act,
        fields=tuple(
            replace(field, suggestions=described.get(field.name, ())) for field in act.fields
        ),
    )


def _as_typed(known: AirframeShown) -> Mapping[str, str]:
    amounts = {"stall_kt": known.stall_kt, "weight_kg": known.reference_weight_kg}
    return {
        **{name: "" if value is None else f"{value:.10g}" for name, value in amounts.items()},
        "type": known.type,
        "static_source": known.static_source,
        "engine": known.engine,
        "propeller": known.propeller,
        "pitot": known.pitot,
        "registration": known.registration,
        "note": known.note,
    }


def _describe(tag: str, typed: Typed) -> str:
    names = ("type", "static_source", "engine", "propeller", "pitot", "registration", "note")
    answers = AirframeAnswers(
        tag=tag,
        since=typed.day("since"),
        stall_kt=typed.number("stall_kt"),
        weight_kg=typed.number("weight_kg"),
        **{name: typed.text(name) for name in names},
    )
    done = describe_airframe(the_desk().store, answers)
    note_done(*_sentences(tag, done))
    return airframe_path(tag)


def _sentences(tag: str, done: AirframeDescribed) -> list[str]:
    what = "is described" if done.known_before else "is in the store"
    same = "" if done.changed else ", as before"
    left = f" Not described yet: {', '.join(done.now.left_open)}." if done.now.left_open else ""
    return [
        f"{tag} {what}{same}.{left}",
        *(
            f"{new!r} is new, and there is {known!r}: take this back if you meant that."
            for new, known in done.like_named
        ),
    ]
