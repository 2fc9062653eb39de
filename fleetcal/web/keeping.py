"""Look after the store: check it, take a backup of it, end the program."""

from __future__ import annotations

from datetime import date
from pathlib import PurePosixPath
from threading import Timer
from typing import Final

from flask import Blueprint
from werkzeug.wrappers import Response

from fleetcal.errors import UnknownNameError
from fleetcal.plain_text import file_stem
from fleetcal.services.keeping.check_store import StoreChecked, check_store
from fleetcal.services.keeping.copy_store import backup_of
from fleetcal.web.files import attachment, private_folder
from fleetcal.web.progress import lead_to
from fleetcal.web.shown import page, the_desk
from fleetcal.web.work import LongWork

keeping = Blueprint("keeping", __name__)
#: Until the last page has left.
_SOON_S: Final = 0.5


@keeping.post("/history/check")
def begin_check() -> Response:
    """Begin to check that the store holds together."""
    store = the_desk().store

    def check(work: LongWork) -> str:
        work.say("tables, references, hashes, fits and points are looked at")
        work.result = check_store(store)
        return f"history/check/{work.number}"

    return lead_to(the_desk().works.start("The store is checked", check))


@keeping.get("/history/check/<int:number>")
def checked(number: int) -> str:
    """Show what a check found."""
    found = the_desk().works.find(number).result
    if not isinstance(found, StoreChecked):
        raise UnknownNameError("no check ended under that number", "begin one under History")
    return page("desk_check.html", title="Is the store sound?", checked=found)


@keeping.get("/history/backup")
def backup() -> Response:
    """Send a backup of the store, which is a store like any other."""
    store = the_desk().store
    stem = file_stem(PurePosixPath(store.label).stem or "store", date.today().isoformat())
    with private_folder() as folder:
        backup_of(store, folder / f"{stem}.store")
        return attachment(folder / f"{stem}.store")


@keeping.get("/end")
def confirm_end() -> str:
    """Ask whether to end the program."""
    running = the_desk().works.running
    return page("desk_end.html", title="End the program?", ended=False, running=running)


@keeping.post("/end")
def end() -> str:
    """End the program."""
    Timer(_SOON_S, the_desk().end).start()
    return page("desk_end.html", title="The program has ended", ended=True, running=())
