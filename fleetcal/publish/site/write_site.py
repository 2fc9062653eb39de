"""Write the pages of the site into a folder, and take away those that are no longer part of it."""

from __future__ import annotations

import contextlib
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from fleetcal.atomic_write import write_atomically
from fleetcal.publish.site.content import FleetSite
from fleetcal.publish.site.downloads import Download, fleet_downloads, group_downloads
from fleetcal.publish.site.downloads_airframe import airframe_downloads
from fleetcal.publish.site.frame import PageFrame
from fleetcal.publish.site.look import look_files
from fleetcal.publish.site.pages import group_page, overview_page
from fleetcal.publish.site.pages_airframe import airframe_page
from fleetcal.publish.site.pages_climbs import climbs_page
from fleetcal.publish.site.pages_sortie import sortie_page

#: Names every page and every file of the site, so that the next writing knows what was its own.
LIST_FILE: Final = "pages.txt"
_OWN_PAGE: Final = re.compile(
    r"(groups|airframes|sorties|climbs)/[A-Za-z0-9][A-Za-z0-9._-]*\.html"
    r"|look/[a-z_]+\.(css|js|svg)"
    r"|tables/[A-Za-z0-9][A-Za-z0-9._-]*\.(csv|json|md|pdf)"
)


@dataclass(frozen=True)
class SiteFiles:
    """What was written.

    Attributes:
        first: The page to open.
        removed: Pages of an earlier writing that are no longer part of the site.
    """

    first: Path
    pages: int
    removed: int


def write_site(
    site: FleetSite, folder: Path, progress: Callable[[int, int], None] = lambda done, all_: None
) -> SiteFiles:
    """Write the site.

    Args:
        folder: Made when missing; files that are not the site's own stay.
        progress: Called with the pages done and the pages in all.

    Raises:
        DataError: If a page cannot be written; pages written before then stay.
    """
    count = 1 + len(site.groups) + len(site.airframes) + len(site.sorties) + len(site.climbs)
    written: list[str] = []
    files = _files(site)
    for file in files:
        write_atomically(folder / file.path, file.make())
    for path, text in look_files():
        write_atomically(folder / path, text)
        written.append(path)
    for done, (path, page) in enumerate(_pages(site), 1):
        write_atomically(folder / path, page)
        written.append(path)
        progress(done, count)
    written += [file.path for file in files]
    removed = _delete_stale(folder, set(written))
    write_atomically(folder / LIST_FILE, "\n".join(sorted(written)) + "\n")
    return SiteFiles(folder / "index.html", count, removed)


def _pages(site: FleetSite) -> Iterator[tuple[str, str]]:
    """Yield path and text of every page; the overview last, so that what it leads to is there."""
    below = PageFrame(facts=site.facts, to=_from_below)
    for sortie in site.sorties:
        yield sortie.path, sortie_page(sortie, below)
    for airframe in site.airframes:
        yield airframe.path, airframe_page(airframe, below)
    for climbs in site.climbs:
        yield climbs.path, climbs_page(climbs, below)
    for group in site.groups:
        yield group.path, group_page(group, below)
    yield (
        "index.html",
        overview_page(site.overview, PageFrame(facts=site.facts, to=lambda path: path)),
    )


def _files(site: FleetSite) -> list[Download]:
    """Return what lies beside the pages."""
    of_groups = (file for group in site.groups for file in group_downloads(group))
    of_airframes = (file for airframe in site.airframes for file in airframe_downloads(airframe))
    return [*of_groups, *of_airframes, *fleet_downloads(site.overview)]


def _from_below(path: str) -> str:
    """Return the way to a page from one in a folder of the site."""
    return f"../{path}"


def _delete_stale(folder: Path, written: set[str]) -> int:
    """Remove pages that an earlier writing listed as its own and this one has not."""
    try:
        listed = (folder / LIST_FILE).read_text(encoding="utf-8").splitlines()
    except (OSError, UnicodeDecodeError):
        return 0
    removed = 0
    for name in set(listed) - written:
        if _OWN_PAGE.fullmatch(name):
            with contextlib.suppress(OSError):
                (folder / name).unlink()
                removed += 1
    return removed
