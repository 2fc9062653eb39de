"""Style, scripts and mark of the served pages."""

from __future__ import annotations

from functools import cache
from importlib.resources import files
from typing import Final

from flask import Blueprint, Response, abort

from fleetcal.publish.site.look import look_file, look_files
from fleetcal.publish.templating import render

look = Blueprint("look", __name__)
_KINDS: Final = {"css": "text/css", "js": "text/javascript", "svg": "image/svg+xml"}
_SCRIPTS: Final = frozenset(
    one.name
    for one in (files("fleetcal.publish") / "templates").iterdir()
    if one.name.endswith(".js")
)


@look.get("/look/<name>")
def part(name: str) -> Response:
    """Return what pages link."""
    kind = _KINDS.get(name.rpartition(".")[2], "")
    if name in _SCRIPTS:
        return Response(look_file(name), mimetype=kind)
    text = _shared().get(f"look/{name}")
    if text is None:
        abort(404)
    return Response(text, mimetype=kind)


@cache
def _shared() -> dict[str, str]:
    return dict(look_files()) | {"look/desk.css": str(render("desk_look.css"))}
