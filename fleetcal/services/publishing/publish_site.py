"""Publish the static fleet site: overview, groups, airframes, sorties."""

from __future__ import annotations

import time
from collections.abc import Callable, Collection
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from fleetcal.errors import DataError, FitError
from fleetcal.publish.site.content import FleetSite, SiteFacts, SiteGroup
from fleetcal.publish.site.content_airframe import AirframePage
from fleetcal.publish.site.write_site import write_site
from fleetcal.services.curves.airframe_verdict import AirframeVerdict
from fleetcal.services.curves.list_groups import GroupLine, list_groups
from fleetcal.services.plausible_weight import require_plausible_weight
from fleetcal.services.publishing.discretion import Discretion
from fleetcal.services.publishing.site_flights import Judged, airframe_of, sortie_of
from fleetcal.services.publishing.site_groups import FittedType, SiteSources, SiteTables, fit_type
from fleetcal.services.publishing.site_own import OwnAnswers
from fleetcal.store import (
    FleetDescription,
    Store,
    StoredPoint,
    list_issues,
    load_description,
    select_legs,
    select_points,
)
from fleetcal.store.integrity import sortie_settings
from fleetcal.version import __version__

Progress = Callable[[str], None]


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
    """Return what the pages hold; every group is fitted and judged once.

    Raises:
        FitError: If the store has no points.
        DataError: If one weight is asked for several types.
    """
    tables = tables or SiteTables()
    with store.reading() as session:
        description = load_description(session)
        rows, legs, issues = select_points(session), select_legs(session), list_issues(session)
        settings = sortie_settings(session)
    if not rows:
        raise FitError("the store has no points to show", "reduce a flight first")
    discretion = _discretion(description, with_days, with_registrations)
    _require_plausible(tables, {row.type for row in rows}, description)
    sources = SiteSources(
        made_on=made_on,
        handbooks=description.handbooks,
        issues=issues,
        discretion=discretion,
        tables=tables,
    )
    fitted = _fitted(store, rows, sources, progress)
    judged = _judged(fitted)
    answers = OwnAnswers(store, sources, judged.pages)
    airframes = _airframes(store, description, rows, judged=judged, own=answers, progress=progress)
    pages = {airframe.tag: airframe.path for airframe in airframes}
    return FleetSite(
        facts=SiteFacts(made_on.isoformat(), __version__, _finest(discretion)),
        types=tuple(sorted({row.type for row in rows})),
        group_lines=tuple(_line(line, fitted) for line in list_groups(store).groups),
        groups=tuple(page for one in fitted for page in one.pages),
        airframes=airframes,
        sorties=tuple(
            sortie_of(
                own,
                legs.get(no, ()),
                settings[no],
                airframe_page=pages[own[0].airframe],
                judged=judged,
                discretion=discretion,
            )
            for no, own in sorted(_by_sortie(rows).items())
        ),
        notes=tuple(note for one in fitted for note in one.notes),
    )


def _require_plausible(
    tables: SiteTables, types: Collection[str], description: FleetDescription
) -> None:
    """Refuse one weight for several types, or one that the type cannot have."""
    if tables.weight_kg is None:
        return
    if len(types) > 1:
        raise DataError(
            f"{tables.weight_kg:g} kg cannot be the weight of {', '.join(sorted(types))} alike",
            "leave the weight out: each type's tables are then for its reference weight",
        )
    for kind in description.types:
        if kind.name in types:
            require_plausible_weight(tables.weight_kg, kind.name, kind.reference_weight_kg)


def _discretion(
    description: FleetDescription, with_days: bool, with_registrations: bool
) -> Discretion:
    registrations = {a.registration: a.tag for a in description.airframes if a.registration}
    return Discretion(registrations, with_days, with_registrations)


def _fitted(
    store: Store, rows: list[StoredPoint], sources: SiteSources, progress: Progress
) -> list[FittedType]:
    """Fit and judge each type at each flap setting flown."""
    fitted = []
    for kind, flaps in sorted({(row.type, row.flap_setting) for row in rows}):
        progress(f"fitting {kind}, flaps {flaps}")
        fitted.append(fit_type(store, kind, flaps, sources))
    return fitted


def _finest(discretion: Discretion) -> str:
    parts = [
        "Flights are dated to the day"
        if discretion.with_days
        else "Flights are dated to the month",
        "airframes are named by tag and registration"
        if discretion.with_registrations
        else "airframes are named by their tag",
    ]
    return f"{'; '.join(parts)}; no positions are shown."


def _judged(fitted: list[FittedType]) -> Judged:
    pages = {(one.type, page.name, one.flap_setting): page for one in fitted for page in one.pages}
    verdicts: dict[str, list[tuple[tuple[str, str, str], AirframeVerdict]]] = {}
    for one in fitted:
        for verdict in one.verdicts:
            key = (one.type, verdict.group, one.flap_setting)
            verdicts.setdefault(verdict.airframe, []).append((key, verdict))
    left_out = {
        (gone.airframe, one.type, gone.group, one.flap_setting): gone
        for one in fitted
        for gone in one.left_out
    }
    return Judged(pages, verdicts, left_out)


def _airframes(
    store: Store,
    description: FleetDescription,
    rows: list[StoredPoint],
    judged: Judged,
    own: OwnAnswers,
    progress: Progress,
) -> tuple[AirframePage, ...]:
    flown: dict[str, list[StoredPoint]] = {}
    for row in rows:
        flown.setdefault(row.airframe, []).append(row)
    pages = []
    types = {kind.name: kind for kind in description.types}
    for number, airframe in enumerate(description.airframes, 1):
        progress(f"airframe {number} of {len(description.airframes)}")
        mine, kind = flown.get(airframe.tag, []), types[airframe.type]
        page = airframe_of(store, airframe, mine, judged, own.discretion, kind=kind)
        pages.append(replace(page, own=own.of(airframe, mine)))
    return tuple(pages)


def _by_sortie(rows: list[StoredPoint]) -> dict[int, list[StoredPoint]]:
    sorties: dict[int, list[StoredPoint]] = {}
    for row in rows:
        sorties.setdefault(row.sortie_id, []).append(row)
    return sorties


def _line(line: GroupLine, fitted: list[FittedType]) -> SiteGroup:
    own = [one for one in fitted if (one.type, one.flap_setting) == (line.type, line.flap_setting)]
    page = next((p.path for one in own for p in one.pages if p.name == line.group), "")
    outside = sum(v.outside for one in own for v in one.verdicts if v.group == line.group)
    return SiteGroup(
        type=line.type,
        group=line.group,
        flap_setting=line.flap_setting,
        airframes=line.airframes,
        sorties=line.sorties,
        points=line.points,
        slowest_kt=line.slowest_kt,
        fastest_kt=line.fastest_kt,
        outside=outside,
        set_aside=line.set_aside_airframes,
        page=page,
    )
