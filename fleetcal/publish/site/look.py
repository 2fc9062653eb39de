"""Style, scripts and mark that all pages of the site link, so that each is sent and kept once."""

from __future__ import annotations

from importlib.resources import files
from typing import Final

from fleetcal.publish.templating import SCRIPTS, render

#: Path of each file from the root of the site.
FOLDER: Final = "look"
_TEMPLATES: Final = files("fleetcal.publish") / "templates"


def look_file(name: str) -> str:
    """Return a script or a drawing as it lies beside the templates."""
    return (_TEMPLATES / name).read_text(encoding="utf-8")


def look_files() -> list[tuple[str, str]]:
    """Return path and text of what the pages of a folder link."""
    return [
        (f"{FOLDER}/site.css", str(render("site_look.css"))),
        (f"{FOLDER}/mark.svg", look_file("mark.svg")),
        *((f"{FOLDER}/{name}", look_file(name)) for name in SCRIPTS),
    ]
