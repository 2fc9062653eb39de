"""The pages that the published site has too: fleet, groups, airframes, sorties."""

from __future__ import annotations

from flask import Blueprint, request

from fleetcal.errors import DataError, UnknownNameError
from fleetcal.publish.site.pages import group_page, overview_page
from fleetcal.publish.site.pages_airframe import airframe_page
from fleetcal.publish.site.pages_sortie import sortie_page
from fleetcal.services.publishing.site_groups import SiteTables
from fleetcal.web.shown import frame_of, the_desk

browse = Blueprint("browse", __name__)


@browse.get("/")
@browse.get("/index.html")
def overview() -> str:
    """Show the fleet."""
    with the_desk().contents() as fleet:
        return overview_page(fleet.overview, frame_of(facts=fleet.facts))


@browse.get("/groups/<name>.html")
def group(name: str) -> str:
    """Show a group."""
    with the_desk().contents(_tables()) as fleet:
        path = f"groups/{name}.html"
        found = next((one for one in fleet.groups if one.path == path), None)
        if found is None:
            raise UnknownNameError("no group with a curve has that page")
        return group_page(found, frame_of(facts=fleet.facts))


@browse.get("/airframes/<name>.html")
def airframe(name: str) -> str:
    """Show an airframe."""
    with the_desk().contents(_tables()) as fleet:
        tag = fleet.tag_of_page(f"airframes/{name}.html")
        return airframe_page(fleet.airframe(tag), frame_of(facts=fleet.facts))


@browse.get("/sorties/<int:number>.html")
def sortie(number: int) -> str:
    """Show a sortie."""
    with the_desk().contents() as fleet:
        return sortie_page(fleet.sortie(number), frame_of(facts=fleet.facts))


def _tables() -> SiteTables:
    """Return what the tables are for, from the address of the page."""
    return SiteTables(
        weight_kg=_number("weight_kg", 1.0, 100000.0),
        altitude_ft=_number("altitude_ft", -1000.0, 30000.0) or 0.0,
    )


def _number(name: str, low: float, high: float) -> float | None:
    """Return a number from the address of the page, None if it is not there."""
    text = request.args.get(name, "").strip().replace(",", ".")
    if not text:
        return None
    try:
        value = float(text)
    except ValueError:
        value = float("nan")
    if not low <= value <= high:
        words = name.replace("_kg", "").replace("_ft", "")
        raise DataError(f"{text!r} is no {words}", f"give a number from {low:g} to {high:g}")
    return value
