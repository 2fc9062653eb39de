"""Whose airframes and types are what: shown, said and handed over; and the name one signs by."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any, Final

from flask import Blueprint
from werkzeug.wrappers import Response

from fleetcal.services.sharing.owners import NOBODY, OwnersShown, give, owners_shown
from fleetcal.services.sharing.signing_key import name_signer
from fleetcal.web.acting import FLEET_TRAIL, Act, answer, note_done
from fleetcal.web.fields import Field, FieldsError, Typed
from fleetcal.web.shown import the_desk

act_owners = Blueprint("act_owners", __name__)
_TRAIL: Final = (FLEET_TRAIL, ("Share", "share"))
_MINE, _KEY = "mine", "key"
_SET: Final = Act(
    words="owners set",
    title="Owners",
    subject="Whose word counts when a share is taken in",
    fields=(
        Field(
            name="airframes", label="Airframes", advice="Tags with commas between, such as C-07."
        ),
        Field(name="type", label="Or the type that somebody coordinates", kind="choice"),
        Field(
            name="owner",
            label="Is",
            kind="choice",
            required=True,
            choices=((_MINE, "mine"), (NOBODY, "nobody's"), (_KEY, "that of the key below")),
        ),
        Field(
            name="key",
            label="Key",
            advice="In full, or in short if it is known: 1a2b-3c4d-5e6f-7a8b-9c0d.",
        ),
        Field(
            name="decides", label="The coordinator decides on airframes of the type", kind="tick"
        ),
    ),
    button="Say so",
    trail=_TRAIL,
    template="desk_owners.html",
)
_NAME: Final = Act(
    words="owners name",
    title="The name that you sign by",
    fields=(Field(name="name", label="Name", required=True, advice="Such as Anna Berg."),),
    button="Sign by this name",
    intro=("It goes along with every share from here, and whoever takes one in reads it.",),
    after=("Another name can be given at any time.",),
    trail=(*_TRAIL, ("Owners", "owners")),
)


@act_owners.route("/owners", methods=["GET", "POST"])
def owners() -> Response | str:
    """Show owners, and say whose an airframe is or who coordinates a type."""
    store = the_desk().store

    def do(typed: Typed) -> str:
        chosen = typed.text("owner")
        if chosen == _KEY and not typed.text("key"):
            raise FieldsError({"key": "Key: nothing was given, and it is needed"})
        tags = [tag.strip() for tag in typed.text("airframes").split(",") if tag.strip()]
        owner = {_MINE: None, NOBODY: NOBODY, _KEY: typed.text("key")}[chosen]
        kind, decides = typed.text("type") or None, typed.tick("decides")
        note_done(*give(store, owner, airframes=tags, kind=kind, decides=decides))
        return "owners"

    found = owners_shown(store)
    kinds = [("", "none"), *((one.name, one.name) for one in found.lines if one.of == "type")]
    return answer(_SET.with_choices(type=kinds), {}, do, **_shown(found))


@act_owners.route("/owners/name", methods=["GET", "POST"])
def name() -> Response | str:
    """Give the key that signs here a person's name."""

    def do(typed: Typed) -> str:
        person = name_signer(typed.text("name"))
        note_done(f"Shares from here are signed by {person.shown}.", undoable=False)
        return "owners"

    return answer(_NAME, {}, do)


def _shown(found: OwnersShown) -> dict[str, Any]:
    """Return what the page shows; whether a type's coordinator decides stands in words.

    What is this store's own is counted; types and the airframes of others have a line each.
    """
    rows = [
        {**asdict(one), "owner": one.owner + (", decides on airframes" if one.decides else "")}
        for one in found.others
    ]
    return {"found": found, "owner_rows": rows}
