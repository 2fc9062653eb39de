"""Give what the store knows, or a part of it, to somebody else as one file."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path, PurePosixPath
from typing import Final
from urllib.parse import urlencode

from flask import Blueprint, request
from werkzeug.wrappers import Response

from fleetcal.errors import FleetcalError
from fleetcal.plain_text import file_stem
from fleetcal.services.fleet.known_names import names_of
from fleetcal.services.sharing.share_store import ShareChoice, Shared, share
from fleetcal.web.acting import FLEET_TRAIL, Act, refused, shown
from fleetcal.web.fields import Field, read_fields
from fleetcal.web.files import attachment, private_folder
from fleetcal.web.shown import the_desk

act_share = Blueprint("act_share", __name__)
_SHARE: Final = Act(
    words="share",
    title="Share with another store",
    subject="What this store knows, as a file that another store takes in",
    fields=(
        Field(
            name="airframes",
            label="Only these airframes",
            advice="Tags with commas between, such as C-07, C-12. All if left empty.",
        ),
        Field(
            name="types",
            label="Only these types",
            advice="Names with commas between. All if left empty.",
        ),
        Field(name="without_issues", label="Leave issues of tables out", kind="tick"),
        Field(name="with_registrations", label="Include registrations", kind="tick"),
        Field(name="with_logs", label="Include the logs that are kept", kind="tick"),
    ),
    button="Show what would be shared",
    intro=(
        "Registrations are left out, also where a note or a file name holds them, unless you "
        "include them. Logs tell where somebody flew: they stay here unless you include them.",
    ),
    after=("Nothing of the store is changed.",),
    trail=(FLEET_TRAIL,),
    template="desk_share.html",
)
_NAMED: Final = 40


@act_share.get("/share")
def look() -> Response | str:
    """Show what a share file would hold."""
    given = request.args
    if "look" not in given:
        return shown(_act(), {}, method="get")
    try:
        with private_folder() as folder:
            made = _made(folder)
    except FleetcalError as error:
        return refused(_act(), given, error, method="get")
    query = urlencode([(f.name, given[f.name]) for f in _SHARE.fields if given.get(f.name)])
    return shown(_act(), given, method="get", made=made, counts=_counts(made), query=query)


@act_share.get("/share/file")
def file() -> Response | str:
    """Send a share file."""
    try:
        with private_folder() as folder:
            return attachment(Path(_made(folder).file))
    except FleetcalError as error:
        return refused(_act(), request.args, error, method="get")


def _made(folder: Path) -> Shared:
    """Write the share file that the address asks for into a folder."""
    typed = read_fields(_SHARE.fields, request.args)
    choice = ShareChoice(
        airframes=_listed(typed.text("airframes")),
        types=_listed(typed.text("types")),
        issues=not typed.tick("without_issues"),
        registrations=typed.tick("with_registrations"),
        logs=typed.tick("with_logs"),
    )
    store = the_desk().store
    stem = file_stem(PurePosixPath(store.label).stem or "store", "share", str(date.today()))
    return share(store, folder / f"{stem}.json", choice)


def _listed(names: str) -> tuple[str, ...] | None:
    """Return names that are separated by commas; None where there is none."""
    return tuple(name.strip() for name in names.split(",") if name.strip()) or None


def _counts(made: Shared) -> list[dict[str, object]]:
    return [{"kind": one.kind.replace("_", " "), "things": one.things} for one in made.counts]


def _act() -> Act:
    """Return the form, which names the airframes that the store has."""
    names = names_of(the_desk().store)
    tags = ", ".join(names.airframes[:_NAMED])
    more = "" if len(names.airframes) <= _NAMED else f" and {len(names.airframes) - _NAMED} more"
    known = {
        "airframes": f" This store has {tags}{more}." if tags else "",
        "types": f" This store has {', '.join(names.types)}." if names.types else "",
    }
    fields = (replace(one, advice=one.advice + known.get(one.name, "")) for one in _SHARE.fields)
    return replace(_SHARE, fields=tuple(fields))
