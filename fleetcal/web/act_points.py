"""Decide on the points of a flight, move it to another airframe, correct its weight."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from flask import Blueprint, request
from werkzeug.wrappers import Response

from fleetcal.errors import DataError, UnknownNameError
from fleetcal.plain_text import sentence
from fleetcal.services.fleet.known_names import names_of
from fleetcal.services.points.decide_points import PointList, accept, points_of_sortie, reject
from fleetcal.services.points.move_flight import move_flight
from fleetcal.services.points.weigh_flight import weigh_flight
from fleetcal.web.acting import FLEET_TRAIL, Act, answer, begin, note_done
from fleetcal.web.fields import Field, Typed
from fleetcal.web.shown import the_desk
from fleetcal.wording import counted

act_points = Blueprint("act_points", __name__)
_ACCEPT: Final = "accept"
_DECIDE: Final = Act(
    words="points",
    title="Which points count?",
    fields=(
        Field(
            name="reason",
            label="Why they are not to count",
            advice="Needed to leave points out, such as: static line found loose. It stays with "
            "them, and is printed where the points are.",
        ),
    ),
    button="Leave the ticked points out",
    intro=("Points that are left out stay in the store with the reason.",),
    template="desk_points.html",
)
_MOVE: Final = Act(
    words="points move",
    title="Which airframe flew it?",
    fields=(
        Field(name="airframe", label="The airframe that flew it", kind="choice", required=True),
    ),
    button="Move the flight",
    intro=(
        "Legs, points and decisions stay as they are; the points count under the equipment that "
        "the other airframe had on that day.",
    ),
)
_WEIGH: Final = Act(
    words="points weight",
    title="What did it weigh?",
    fields=(
        Field(
            name="weight_kg",
            label="Weight during the flight",
            kind="number",
            unit="kg",
            required=True,
            low=1.0,
            high=100000.0,
            advice="A number alone is in kg; 1290 lb will do too.",
        ),
    ),
    button="Correct the weight",
    intro=(
        "What its points say of the airspeed error stays; the weight tells at which lift it was.",
    ),
)


@act_points.route("/do/points", methods=["GET", "POST"])
def decide() -> Response | str:
    """Leave points of a flight out of every pool, or let them count again."""
    number, found = _flight()
    ticked = request.form.getlist("point")

    def do(typed: Typed) -> str:
        ids = _ids(ticked, found)
        if request.form.get("decision") == _ACCEPT:
            begin("points accept")
            done = accept(the_desk().store, ids)
            note_done(f"{counted(done.count, 'point')} of sortie {number} count again.")
        else:
            begin("points reject")
            done = reject(the_desk().store, ids, typed.text("reason"))
            note_done(f"{counted(done.count, 'point')} of sortie {number} left out: {done.reason}.")
        return f"sorties/{number}.html"

    return answer(
        _with_trail(_DECIDE, number), request.args, do, points=found.points, ticked=ticked
    )


@act_points.route("/do/move", methods=["GET", "POST"])
def move() -> Response | str:
    """Move a flight to the airframe that flew it."""
    number, found = _flight()
    own = found.points[0].airframe
    tags = [tag for tag in names_of(the_desk().store).airframes if tag != own]

    def do(typed: Typed) -> str:
        done = move_flight(the_desk().store, number, typed.text("airframe"))
        under = f", now under {done.equipment}" if done.equipment else ""
        note_done(
            f"Sortie {done.sortie_id} moved from {done.before} to {done.now}: "
            f"{counted(done.points, 'point')}{under}.",
            *(sentence(words) for words in done.warnings),
        )
        return f"sorties/{done.sortie_id}.html"

    act = _with_trail(_MOVE, number).with_choices(airframe=[(tag, tag) for tag in tags])
    return answer(act, {}, do)


@act_points.route("/do/weight", methods=["GET", "POST"])
def weigh() -> Response | str:
    """Correct the weight of a flight."""
    number, found = _flight()

    def do(typed: Typed) -> str:
        done = weigh_flight(the_desk().store, number, typed.number("weight_kg") or 0.0)
        notes = [
            f"Sortie {number}: {done.now_kg:.0f} kg, before {done.before_kg:.0f} kg; "
            f"{counted(done.points, 'point')}."
        ]
        if done.climbs:
            climbs = counted(done.climbs, "climb or glide", "climbs or glides")
            notes.append(f"Its {climbs} stay as they are; reduce the flight again for them.")
        note_done(*notes)
        return f"sorties/{number}.html"

    return answer(_with_trail(_WEIGH, number), {"weight_kg": f"{found.points[0].weight_kg:g}"}, do)


def _flight() -> tuple[int, PointList]:
    """Return the number of the flight that the address names, and its points."""
    text = request.args.get("sortie", "")
    if not (text.isascii() and text.isdecimal() and len(text) < 10):
        raise UnknownNameError(
            "the address names no sortie", "begin on the page of the sortie that is meant"
        )
    return int(text), points_of_sortie(the_desk().store, int(text))


def _ids(ticked: list[str], found: PointList) -> list[int]:
    known = {str(row.point_id): row.point_id for row in found.points}
    if not ticked:
        raise DataError("no point was ticked", "tick the points that are meant")
    strange = [one for one in ticked if one not in known]
    if strange:
        raise UnknownNameError(f"point {strange[0]!r} is none of this sortie", "tick others")
    return [known[one] for one in ticked]


def _with_trail(act: Act, number: int) -> Act:
    return replace(
        act,
        subject=f"Sortie {number}",
        trail=(FLEET_TRAIL, (f"Sortie {number}", f"sorties/{number}.html")),
    )
