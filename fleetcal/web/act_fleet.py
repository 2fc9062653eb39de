"""A fleet from a file, and into one."""

from __future__ import annotations

from typing import Final

from flask import Blueprint
from werkzeug.wrappers import Response

from fleetcal.plain_text import sentence
from fleetcal.services.fleet.describe_fleet import fleet_toml, load_fleet
from fleetcal.services.fleet.sheet_columns import TEMPLATE
from fleetcal.web.acting import Act, answer, note_done
from fleetcal.web.fields import Field, Typed
from fleetcal.web.files import attachment_of, dropped, private_folder
from fleetcal.web.shown import the_desk

act_fleet = Blueprint("act_fleet", __name__)
_FLEET: Final = Act(
    words="fleet load",
    title="A fleet from a file",
    fields=(
        Field(
            name="file",
            label="A spreadsheet saved as CSV, or a fleet file in TOML",
            kind="file",
            required=True,
            advice="A row for each airframe, and one more for each change of its equipment, with "
            "the day. Only the tag is needed.",
        ),
    ),
    button="Take it in",
    intro=("What is new is added, what differs is changed, nothing is removed: all, or nothing.",),
    template="desk_fleet.html",
)


@act_fleet.route("/do/fleet", methods=["GET", "POST"])
def take_in() -> Response | str:
    """Take a fleet file in."""

    def do(typed: Typed) -> str:
        notes: list[str] = []
        with private_folder() as folder:
            done = load_fleet(the_desk().store, dropped("file", folder), notes.append)
        note_done(
            f"{done.file}: {done.added} added, {done.changed} changed, {done.unchanged} unchanged.",
            *(sentence(words.removesuffix(".")) for words in (*done.supposed, *notes)),
        )
        return "index.html"

    return answer(_FLEET, {}, do)


@act_fleet.get("/do/fleet-template.csv")
def template() -> Response:
    """Send a fleet of two invented airframes, to fill in as a spreadsheet."""
    return attachment_of(TEMPLATE, "fleet-template.csv")


@act_fleet.get("/do/fleet.toml")
def fleet_file() -> Response:
    """Send the fleet as a file that can be taken in again."""
    return attachment_of(fleet_toml(the_desk().store), "fleet.toml")
