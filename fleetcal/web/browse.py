"""The pages that the published site has too: fleet, groups, airframes, sorties."""

from __future__ import annotations

from mimetypes import guess_type

from flask import Blueprint, Response, request

from fleetcal.errors import DataError, FitError, UnknownNameError
from fleetcal.publish.site.content_climbs import climbs_path
from fleetcal.publish.site.downloads import FOLDER, fleet_downloads, group_downloads
from fleetcal.publish.site.downloads_airframe import airframe_downloads, may_be_of
from fleetcal.publish.site.pages import group_page, overview_page
from fleetcal.publish.site.pages_airframe import airframe_page
from fleetcal.publish.site.pages_climbs import climbs_page
from fleetcal.publish.site.pages_compare import compare_page
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
        of_airframes = (
            one
            for tag in fleet.tags
            if may_be_of(name, tag)
            for one in airframe_downloads(fleet.airframe(tag), card=True)
        )
        files = (*fleet_downloads(fleet.overview), *of_groups, *of_airframes)
        known = {one.path: one for one in files}
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


@browse.get("/climbs/<name>.html")
def climbs(name: str) -> str:
    """Show the climbs and glides of a type."""
    with the_desk().contents() as fleet:
        path = f"climbs/{name}.html"
        kind = next((one for one in fleet.climbs.types if climbs_path(one) == path), None)
        if kind is None:
            raise UnknownNameError("no type with climbs or glides has that page")
        return climbs_page(fleet.climbs.page(kind), frame_of(facts=fleet.facts))


@browse.get("/compare")
def compare() -> Response | str:
    """Show the own curves of two airframes beside each other, or ask which."""
    first, second = (request.args.get(name, "") for name in ("first", "second"))
    with the_desk().contents() as fleet:
        chosen = (first, second or next((tag for tag in fleet.tags if tag != first), ""))
        if not first or not second:
            return compare_page(fleet.tags, chosen, frame_of(facts=fleet.facts))
        try:
            found = fleet.compared(first, second)
        except (DataError, FitError, UnknownNameError) as error:
            refused = [f"{words}." for words in (error.message, error.hint) if words]
            frame = frame_of(facts=fleet.facts, refused=refused)
            return Response(compare_page(fleet.tags, chosen, frame), 400)
        return compare_page(fleet.tags, chosen, frame_of(facts=fleet.facts), found)


@browse.get("/sorties/<int:number>.html")
def sortie(number: int) -> str:
    """Show a sortie."""
    with the_desk().contents() as fleet:
        return sortie_page(fleet.sortie(number), frame_of(facts=fleet.facts))
