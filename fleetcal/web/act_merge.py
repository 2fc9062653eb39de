"""Take in what another store shared: shown first, taken in after a confirmation, or forgotten.

The file is kept in the private folder between both, and goes with either.
"""

from __future__ import annotations

import re
import secrets
import shutil
from contextlib import nullcontext
from dataclasses import asdict
from pathlib import Path
from typing import Any, Final, cast

from flask import Blueprint, request
from werkzeug.wrappers import Response

from fleetcal.errors import DataError, FleetcalError, UnknownNameError
from fleetcal.services.sharing.merge_share import Choices, Merged, Side, merge, refuse_open
from fleetcal.web.acting import FLEET_TRAIL, Act, begin, note_done, refused, shown
from fleetcal.web.fields import Field
from fleetcal.web.files import dropped
from fleetcal.web.shown import onward, the_desk

act_merge = Blueprint("act_merge", __name__)
_KEY: Final = re.compile(r"[0-9a-f]{16}")
_SIDES: Final = ("mine", "theirs")
_CONFLICT: Final = "choose-"
_TRAIL: Final = (FLEET_TRAIL, ("Share", "share"))
_DROP: Final = Act(
    words="merge",
    title="Take in what another store shared",
    subject="Shown first; nothing is taken in before you say so",
    fields=(Field(name="file", label="The share file", kind="file", required=True),),
    button="Show what it would bring",
    after=("The file is kept until you have decided, and removed then.",),
    trail=_TRAIL,
)
_DECIDE: Final = Act(
    words="merge",
    title="What it would bring",
    fields=(),
    button="Take it in",
    trail=_TRAIL,
    after=("All of it or nothing. History takes it back.",),
    template="desk_merge.html",
)


@act_merge.route("/share/merge", methods=["GET", "POST"])
def drop() -> Response | str:
    """Keep a share file until it is decided on."""
    if request.method != "POST":
        return shown(_DROP, {})
    key = secrets.token_hex(8)
    place = the_desk().folder / key
    place.mkdir()
    try:
        _merged(dropped("file", place), preview=True)
    except FleetcalError as error:
        shutil.rmtree(place, ignore_errors=True)
        return refused(_DROP, {}, error)
    except BaseException:
        shutil.rmtree(place, ignore_errors=True)
        raise
    return onward(f"share/merge/{key}/")


@act_merge.route("/share/merge/<key>/", methods=["GET", "POST"])
def decide(key: str) -> Response | str:
    """Show what a share file would bring, and take it in."""
    path = _file(key)
    if request.method != "POST":
        return shown(_DECIDE, {}, **_shown(path))
    try:
        begin(f"merge of {path.name}")
        done = _merged(path)
        refuse_open(done)
    except FleetcalError as error:
        return refused(_DECIDE, {}, error, **_shown(path))
    shutil.rmtree(path.parent, ignore_errors=True)
    note_done(
        f"{done.file} is taken in: {done.added} added, {done.corrected} corrected, "
        f"{done.brought_up_to_date} brought up to date, {done.unchanged} alike."
    )
    return onward("history")


@act_merge.post("/share/merge/<key>/forget")
def forget(key: str) -> Response:
    """Remove a share file that is not to be taken in."""
    path = _file(key)
    begin("forget")
    shutil.rmtree(path.parent, ignore_errors=True)
    note_done(f"{path.name} was not taken in, and is removed here.", undoable=False)
    return onward("share")


def _file(key: str) -> Path:
    """Return the share file that is kept under a key.

    Raises:
        UnknownNameError: If there is none.
    """
    place = the_desk().folder / key if _KEY.fullmatch(key) else None
    if place is None or not place.is_dir():
        raise UnknownNameError(
            "that file is not here any more", "drop it again if it was not taken in"
        )
    (path,) = place.iterdir()
    return path


def _merged(path: Path, *, preview: bool = False) -> Merged:
    store = the_desk().store
    return merge(lambda: nullcontext(store), path, _choices(), preview=preview)


def _shown(path: Path) -> dict[str, Any]:
    """Return what the page of a file that waits shows; choices that cannot be count for none."""
    store, none = the_desk().store, Choices(None, {})
    merged = merge(lambda: nullcontext(store), path, none, preview=True)
    flown = [
        {**asdict(one), "number": "" if one.sortie is None else str(one.sortie)}
        for one in merged.additions
        if one.airframe
    ]
    others = [one.what for one in merged.additions if not one.airframe]
    return {"merged": merged, "chosen": dict(request.form), "flown": flown, "others": others}


def _choices() -> Choices:
    """Return the sides that were chosen.

    Raises:
        DataError: If one is neither.
    """
    named = {
        name.removeprefix(_CONFLICT): side
        for name, side in request.form.items()
        if name.startswith(_CONFLICT)
    }
    for side in named.values():
        if side not in _SIDES:
            raise DataError(f"{side!r} is no side", "choose mine or theirs")
    return Choices(None, {number: cast(Side, side) for number, side in named.items()})
