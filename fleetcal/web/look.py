"""Style, scripts and mark of the served pages."""

from __future__ import annotations

from importlib.resources import files
from typing import Final

from flask import Blueprint, Response, abort

from fleetcal.publish.templating import render

look = Blueprint("look", __name__)
_FILES: Final = files("fleetcal.publish") / "templates"


@look.get("/look/site.css")
def style() -> Response:
    """Return the style of all pages."""
    return Response(render("served.css"), mimetype="text/css")


@look.get("/look/<name>.js")
def script(name: str) -> Response:
    """Return a script."""
    known = {one.name: one for one in _FILES.iterdir() if one.name.endswith(".js")}
    found = known.get(f"{name}.js")
    if found is None:
        abort(404)
    return Response(found.read_text(encoding="utf-8"), mimetype="text/javascript")


@look.get("/look/mark.svg")
def mark() -> Response:
    """Return the mark that browsers show beside the title."""
    return Response((_FILES / "mark.svg").read_text(encoding="utf-8"), mimetype="image/svg+xml")
