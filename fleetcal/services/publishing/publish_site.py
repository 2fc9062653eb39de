"""Publish the static fleet site: overview, groups, airframes, sorties."""

from __future__ import annotations

import time
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from fleetcal.errors import FitError
from fleetcal.publish.site.content import FleetSite
from fleetcal.publish.site.write_site import write_site
from fleetcal.services.publishing.fleet_contents import FleetContents, Progress
from fleetcal.services.publishing.site_groups import SiteTables
from fleetcal.store import Store


@dataclass(frozen=True, kw_only=True)
class PublishedSite:
    """A site that was written.

    Attributes:
        first: The page to open.
        fitting_s, writing_s: Time for statistics and content, and for making and writing the pages.
    """

    first: str
    pages: int
    removed: int
    fitting_s: float
    writing_s: float


def publish_site(
    store: Store,
    folder: Path,
    made_on: date,
    *,
    with_days: bool = False,
    with_registrations: bool = False,
    tables: SiteTables | None = None,
    progress: Progress = lambda words: None,
) -> PublishedSite:
    """Write the site of the whole store into a folder.

    Args:
        folder: Made when missing.
        made_on: Printed on every page.
        with_days, with_registrations: Without them pages carry months and tags only.
        tables: Weight, altitude and step of the tables.
        progress: Called with how far it is.

    Raises:
        FitError: If the store has no points.
        DataError: If a page cannot be written, or one weight is asked for several types.
    """
    started = time.monotonic()
    site = fleet_site(
        store,
        made_on,
        with_days,
        with_registrations=with_registrations,
        progress=progress,
        tables=tables,
    )
    ready = time.monotonic()
    done = write_site(site, folder, lambda made, count: progress(f"{made} of {count} pages"))
    ended = time.monotonic()
    return PublishedSite(
        first=str(done.first),
        pages=done.pages,
        removed=done.removed,
        fitting_s=ready - started,
        writing_s=ended - ready,
    )


def fleet_site(
    store: Store,
    made_on: date,
    with_days: bool,
    with_registrations: bool,
    progress: Progress,
    tables: SiteTables | None = None,
) -> FleetSite:
    """Return what all the pages hold.

    Raises:
        FitError: If the store has no points.
        DataError: If one weight is asked for several types.
    """
    contents = FleetContents(
        store,
        made_on,
        with_days=with_days,
        with_registrations=with_registrations,
        tables=tables,
        progress=progress,
    )
    if not contents.sorties:
        raise FitError("the store has no points to show", "reduce a flight first")
    overview = contents.overview
    airframes = []
    for number, tag in enumerate(contents.tags, 1):
        progress(f"airframe {number} of {len(contents.tags)}")
        airframes.append(contents.airframe(tag))
    return FleetSite(
        facts=contents.facts,
        overview=overview,
        airframes=tuple(airframes),
        climbs=tuple(map(contents.climbs.page, contents.climbs.types)),
        sorties=tuple(contents.sortie(number) for number in contents.sorties),
    )
