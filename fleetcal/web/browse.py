"""The pages that the published site has too: fleet, groups, airframes, sorties."""

from __future__ import annotations

from mimetypes import guess_type

from flask import Blueprint, Response

from fleetcal.errors import UnknownNameError
from fleetcal.publish.site.downloads import FOLDER, fleet_downloads, group_downloads
from fleetcal.publish.site.pages import group_page, overview_page
from fleetcal.publish.site.pages_airframe import airframe_page
from fleetcal.publish.site.pages_sortie import sortie_page
from fleetcal.web.shown import frame_of, the_desk
from fleetcal.web.switches import switches_now, tables_chosen

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
    with the_desk().contents(tables_chosen()) as fleet:
        path = f"groups/{name}.html"
        found = next((one for one in fleet.groups if one.path == path), None)
        if found is None:
            raise UnknownNameError("no group with a curve has that page")
        return group_page(found, frame_of(facts=fleet.facts, switches=switches_now()))


@browse.get(f"/{FOLDER}/<name>")
def file(name: str) -> Response:
    """Return a file that lies beside the pages."""
    path = f"{FOLDER}/{name}"
    with the_desk().contents(tables_chosen()) as fleet:
        of_groups = (one for group in fleet.groups for one in group_downloads(group))
        known = {one.path: one for one in [*fleet_downloads(fleet.overview), *of_groups]}
        if path not in known:
            raise UnknownNameError("no file of the pages has that name")
        content = known[path].make()
    return Response(content, mimetype=guess_type(name)[0] or "text/plain")


@browse.get("/airframes/<name>.html")
def airframe(name: str) -> str:
    """Show an airframe."""
    with the_desk().contents(tables_chosen()) as fleet:
        tag = fleet.tag_of_page(f"airframes/{name}.html")
        return airframe_page(
            fleet.airframe(tag), frame_of(facts=fleet.facts, switches=switches_now())
        )


@browse.get("/sorties/<int:number>.html")
def sortie(number: int) -> str:
    """Show a sortie."""
    with the_desk().contents() as fleet:
        return sortie_page(fleet.sortie(number), frame_of(facts=fleet.facts))
