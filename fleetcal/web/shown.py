"""Pages as they are served: what stands around them, and where other pages are."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import PurePosixPath
from typing import Any, Final

from flask import current_app, get_flashed_messages, redirect, request
from werkzeug.wrappers import Response

from fleetcal.publish.site.content import SiteFacts
from fleetcal.publish.site.frame import BarLink, PageFrame, Served, Switches
from fleetcal.publish.templating import render
from fleetcal.version import __version__
from fleetcal.web.desk import Desk

#: The bar on every page: words, and path from the root.
BAR: Final = (
    ("The fleet", "index.html"),
    ("Look at a flight", "flight/"),
    ("Plan", "plan"),
    ("Share", "share"),
    ("History", "history"),
)
_EXTENSION: Final = "desk"


def give_desk(app: Any, desk: Desk) -> None:
    """Let the pages of an app work on a desk."""
    app.extensions[_EXTENSION] = desk


def the_desk() -> Desk:
    """Return what the page that is served works on."""
    desk: Desk = current_app.extensions[_EXTENSION]
    return desk


def to(path: str) -> str:
    """Return the way from the page that is served to another, named from the root."""
    below = request.path.removeprefix(the_desk().gate.root)
    return "../" * below.count("/") + path or "./"


def frame_of(
    *,
    refused: Sequence[str] = (),
    facts: SiteFacts | None = None,
    switches: Switches | None = None,
) -> PageFrame:
    """Return what stands around the page that is served.

    Args:
        refused: What could not be done, and what to do about it.
        facts: Of the contents of the store, where a page shows them.
        switches: What its numbers are for, where that can be chosen.
    """
    below = request.path.removeprefix(the_desk().gate.root)
    here = below.partition("/")[0] or "index.html"
    served = Served(
        store_name=PurePosixPath(the_desk().store.label).name,
        bar=tuple(
            BarLink(words=words, path=path, current=path.rstrip("/") == here) for words, path in BAR
        ),
        done=tuple(map(str, get_flashed_messages())),
        refused=tuple(refused),
        switches=switches,
    )
    facts = facts or SiteFacts(date.today().isoformat(), __version__, "")
    return PageFrame(facts=facts, to=to, served=served)


def page(template: str, *, refused: Sequence[str] = (), **values: Any) -> str:
    """Return a page of the served ones alone.

    Args:
        refused: What could not be done, and what to do about it.
        values: Of the template; `title` among them.
    """
    return render(template, frame=frame_of(refused=refused), **values)


def onward(path: str) -> Response:
    """Lead on to a page, named from the root, after something was done.

    What was done is said there: give it to ``flask.flash`` before.
    """
    return redirect(to(path), 303)
