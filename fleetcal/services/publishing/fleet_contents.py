"""What the pages of a store hold, made page by page; each group is fitted and judged once."""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import astuple, fields, replace
from datetime import date
from functools import cached_property

from fleetcal.errors import DataError, UnknownNameError
from fleetcal.publish.site.content import GroupPage, Overview, SiteFacts, SiteGroup
from fleetcal.publish.site.content_airframe import (
    AirframePage,
    AirframeSummary,
    WatchBlock,
    airframe_path,
)
from fleetcal.publish.site.content_climbs import climbs_path
from fleetcal.publish.site.content_compare import ComparePage
from fleetcal.publish.site.content_sortie import Neighbour, SortiePage
from fleetcal.records import Leg
from fleetcal.services.curves.airframe_verdict import AirframeVerdict
from fleetcal.services.curves.check_change import FlownFits
from fleetcal.services.curves.difference_of_own import difference_of_own
from fleetcal.services.curves.list_groups import GroupLine, groups_of
from fleetcal.services.curves.position_error import POSITION_ERROR, read_points
from fleetcal.services.curves.quantity import PoolRequest, ReadPoints
from fleetcal.services.plausible_weight import require_plausible_weight
from fleetcal.services.publishing.discretion import Discretion
from fleetcal.services.publishing.site_climbs import SiteClimbs
from fleetcal.services.publishing.site_flights import (
    Judged,
    changes_of,
    sortie_of,
    summary_of,
)
from fleetcal.services.publishing.site_groups import FittedType, SiteSources, SiteTables, fit_type
from fleetcal.services.publishing.site_lists import (
    around_airframe,
    around_groups,
    around_sortie,
    sortie_lines,
)
from fleetcal.services.publishing.site_own import OwnAnswers
from fleetcal.services.publishing.site_watch import watches_of
from fleetcal.store import (
    AirframeDescription,
    FleetDescription,
    Store,
    StoredPoint,
    count_groups,
    list_issues,
    load_description,
    select_climbs,
    select_cruise,
    select_legs,
    select_points,
)
from fleetcal.store.integrity import sortie_settings
from fleetcal.version import __version__

Progress = Callable[[str], None]


class FleetContents:
    """What the pages of a store hold, as it was when this was made.

    Attributes:
        facts: What stands on every page.
        sorties: Numbers of those with points.
    """

    def __init__(
        self,
        store: Store,
        made_on: date,
        *,
        with_days: bool = False,
        with_registrations: bool = False,
        tables: SiteTables | None = None,
        progress: Progress = lambda words: None,
    ) -> None:
        """Read the points of a store.

        Args:
            with_days, with_registrations: Without them pages carry months and tags only.
            tables: Weight, altitude and step of the tables.
            progress: Called with how far it is.

        Raises:
            DataError: If one weight is asked for several types, or a type cannot have it.
        """
        self._store, self._progress = store, progress
        with store.reading() as session:
            self._description = load_description(session)
            rows, issues = select_points(session), list_issues(session)
            self._settings = sortie_settings(session)
            self._counts = count_groups(session)
        tables = tables or SiteTables()
        self._types = tuple(sorted({row.type for row in rows}))
        _require_plausible(tables, self._types, self._description)
        self._discretion = _discretion(self._description, with_days, with_registrations)
        self._sources = SiteSources(
            made_on=made_on,
            handbooks=self._description.handbooks,
            issues=issues,
            discretion=self._discretion,
            tables=tables,
        )
        self._rows = rows
        self._of_airframe: dict[str, list[StoredPoint]] = {}
        self._of_sortie: dict[int, list[StoredPoint]] = {}
        for row in rows:
            self._of_airframe.setdefault(row.airframe, []).append(row)
            self._of_sortie.setdefault(row.sortie_id, []).append(row)
        self._described = {one.tag: one for one in self._description.airframes}
        self._watched: dict[str, tuple[WatchBlock, ...]] = {}
        self._summaries: dict[str, AirframeSummary] = {}
        self._pooled: dict[tuple[str, str], ReadPoints] = {}
        self._fits: dict[tuple[str, str], FlownFits] = {}
        self.sorties = tuple(sorted(self._of_sortie))
        self.facts = SiteFacts(
            made_on.isoformat(),
            __version__,
            _finest(self._discretion),
            fleet=f"{', '.join(self._types)} fleet" if self._types else "",
        )

    @property
    def tags(self) -> tuple[str, ...]:
        """Airframes, in the order of the store."""
        return tuple(self._described)

    def tag_of_page(self, path: str) -> str:
        """Return the airframe whose page it is.

        Args:
            path: From the root of the site.

        Raises:
            UnknownNameError: If it is of none.
        """
        found = next((tag for tag in self.tags if airframe_path(tag) == path), None)
        if found is None:
            raise UnknownNameError("no airframe of the store has that page")
        return found

    @cached_property
    def groups(self) -> tuple[GroupPage, ...]:
        """Groups with a page, each with those before and after it."""
        return around_groups([page for one in self._fitted for page in one.pages])

    @cached_property
    def overview(self) -> Overview:
        """The fleet on one page."""
        return Overview(
            types=self._types,
            group_lines=tuple(_line(one, self._fitted) for one in groups_of(self._counts).groups),
            groups=self.groups,
            airframes=tuple(self._summary(tag) for tag in self.tags),
            sorties=len(self.sorties),
            notes=tuple(note for one in self._fitted for note in one.notes),
            climb_pages=tuple(Neighbour(kind, climbs_path(kind)) for kind in self.climbs.types),
        )

    def airframe(self, tag: str) -> AirframePage:
        """Return the page of an airframe.

        Raises:
            UnknownNameError: If the store does not have it.
        """
        airframe, rows = self._known(tag), self._of_airframe.get(tag, [])
        summary, discretion = self._summary(tag), self._discretion
        before, after = around_airframe(self.tags, tag)
        return AirframePage(
            **{field.name: getattr(summary, field.name) for field in fields(AirframeSummary)},
            registration=(airframe.registration or "") if discretion.with_registrations else "",
            note=discretion.words(airframe.note),
            changes=tuple(changes_of(self._flown_fits, airframe, rows, discretion)),
            watches=self._watches(tag),
            own=self._own.of(airframe, rows),
            rates=self.climbs.of_airframe(tag),
            sorties=sortie_lines(rows, discretion),
            before=before,
            after=after,
        )

    def sortie(self, number: int) -> SortiePage:
        """Return the page of a sortie.

        Raises:
            UnknownNameError: If the store has no points of it.
        """
        own = self._of_sortie.get(number)
        if own is None:
            raise UnknownNameError(f"there is no sortie {number} with points in the store")
        before, after = around_sortie(self._of_airframe[own[0].airframe], number)
        page = sortie_of(
            own,
            self._legs.get(number, ()),
            self._settings[number],
            airframe_page=airframe_path(own[0].airframe),
            judged=self._judged,
            discretion=self._discretion,
        )
        return replace(page, before=before, after=after)

    def compared(self, first: str, second: str, flap_setting: str = "up") -> ComparePage:
        """Return the own curves of two airframes and their difference.

        Raises:
            UnknownNameError: If the store does not have one of them.
            DataError: If they are one airframe, or of different types.
            FitError: If one has no curve of its own.
        """
        if first == second:
            raise DataError(f"{first} cannot be compared with itself", "choose two airframes")
        fits = [self._own.fitted(self._known(tag), flap_setting) for tag in (first, second)]
        one, other = (self._own.answer(fit, flap_setting).table for fit in fits)
        assert one is not None
        assert other is not None
        found = difference_of_own(fits[0], fits[1], [row.given_kt for row in one.rows])
        return ComparePage(
            first=one,
            second=other,
            tags=(first, second),
            pages=(airframe_path(first), airframe_path(second)),
            rows=tuple(map(astuple, found)),
        )

    @cached_property
    def climbs(self) -> SiteClimbs:
        """What the store has of climbs, glides and cruise."""
        with self._store.reading() as session:
            rows, cruise = select_climbs(session), select_cruise(session)
        return SiteClimbs(
            self._store,
            rows,
            cruise,
            lambda tag, flaps: self._own_usually.fitted(self._known(tag), flaps),
            self._discretion,
        )

    @cached_property
    def _own_usually(self) -> OwnAnswers:
        """Own curves at the usual weight, which rates rest on whatever the tables are for."""
        if self._sources.tables == SiteTables():
            return self._own
        return OwnAnswers(self._store, replace(self._sources, tables=SiteTables()), {})

    @cached_property
    def _legs(self) -> dict[int, list[Leg]]:
        with self._store.reading() as session:
            return select_legs(session)

    @cached_property
    def _fitted(self) -> list[FittedType]:
        """Each type at each flap setting flown."""
        fitted = []
        for kind, flaps in sorted({(row.type, row.flap_setting) for row in self._rows}):
            self._progress(f"fitting {kind}, flaps {flaps}")
            fitted.append(fit_type(self._read(kind, flaps), self._sources))
        return fitted

    @cached_property
    def _judged(self) -> Judged:
        return _judged(self._fitted)

    @cached_property
    def _own(self) -> OwnAnswers:
        return OwnAnswers(self._store, self._sources, self._judged.pages)

    def _read(self, kind: str, flap_setting: str) -> ReadPoints:
        """Return the points of a type at a flap setting, as they are pooled."""
        key = kind, flap_setting
        if key not in self._pooled:
            rows = [r for r in self._rows if (r.type, r.flap_setting) == key]
            request = PoolRequest(quantity=POSITION_ERROR, type=kind, flap_setting=flap_setting)
            self._pooled[key] = read_points(self._store, request, rows, self._description)
        return self._pooled[key]

    def _flown_fits(self, kind: str, flap_setting: str) -> FlownFits:
        """Return what the changes of all airframes of a type are held against."""
        key = kind, flap_setting
        if key not in self._fits:
            self._fits[key] = FlownFits(self._read(kind, flap_setting))
        return self._fits[key]

    def _known(self, tag: str) -> AirframeDescription:
        if tag not in self._described:
            raise UnknownNameError(f"airframe {tag} is not in the store")
        return self._described[tag]

    def _summary(self, tag: str) -> AirframeSummary:
        if tag not in self._summaries:
            self._summaries[tag] = summary_of(
                self._known(tag),
                self._of_airframe.get(tag, []),
                self._judged,
                self._discretion,
                self._watches(tag),
            )
        return self._summaries[tag]

    def _watches(self, tag: str) -> tuple[WatchBlock, ...]:
        if tag not in self._watched:
            airframe = self._known(tag)
            kind = next(one for one in self._description.types if one.name == airframe.type)
            rows = self._of_airframe.get(tag, [])
            self._watched[tag] = watches_of(airframe, kind, rows, self._discretion)
        return self._watched[tag]


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
