"""The own answer of each airframe on its page of the site; each group is fitted once for all."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from fleetcal.errors import FleetcalError
from fleetcal.publish.pooled_table import PlottedPoint, PooledTable
from fleetcal.publish.site.content import GroupPage
from fleetcal.publish.site.content_airframe import OwnAnswer
from fleetcal.services.curves.among_others import GroupFits
from fleetcal.services.curves.fit_airframe import fit_known, known_among
from fleetcal.services.curves.fitted_group import CurveRequest, FittedGroup
from fleetcal.services.curves.pooled_curve import describe_curve
from fleetcal.services.curves.position_error import POSITION_ERROR
from fleetcal.services.curves.quantity import PoolRequest
from fleetcal.services.handbook.limit_sources import stated_limits
from fleetcal.services.publishing.discreet_table import discreet_table
from fleetcal.services.publishing.site_groups import SiteSources
from fleetcal.services.publishing.table_of_group import table_of_group
from fleetcal.store import AirframeDescription, Store, StoredPoint


class OwnAnswers:
    """Makes the answers of airframes one after the other."""

    def __init__(
        self, store: Store, sources: SiteSources, pages: Mapping[tuple[str, str, str], GroupPage]
    ) -> None:
        """Take what tables are for, and the pages of groups by (type, group, flap setting)."""
        self._store, self._sources, self._pages = store, sources, pages
        self.discretion = sources.discretion
        self._groups: dict[tuple[str, str], GroupFits] = {}

    def of(
        self, airframe: AirframeDescription, rows: Sequence[StoredPoint]
    ) -> tuple[OwnAnswer, ...]:
        """Return its answer at each flap setting that it flew, flaps up first.

        Args:
            rows: All its points; without any, its group may tell of it with flaps up.
        """
        settings = sorted(
            {row.flap_setting for row in rows} or {"up"}, key=lambda s: (s != "up", s)
        )
        return tuple(one for flaps in settings for one in self._at(airframe, flaps))

    def _at(self, airframe: AirframeDescription, flaps: str) -> list[OwnAnswer]:
        try:
            return [self.answer(self.fitted(airframe, flaps), flaps)]
        except FleetcalError as error:
            words = self.discretion.words(error.message)
            return [OwnAnswer(flap_setting=flaps, table=None, group="", group_page="", why=words)]

    def fitted(self, airframe: AirframeDescription, flaps: str) -> FittedGroup:
        """Return the own curve of an airframe.

        Raises:
            FleetcalError: If there is none; its message says why.
        """
        tables = self._sources.tables
        request = CurveRequest(
            group=airframe.tag,
            type=airframe.type,
            flap_setting=flaps,
            weight_kg=tables.weight_kg,
            altitude_ft=tables.altitude_ft,
            step_kt=tables.step_kt,
        )
        return fit_known(known_among(self._groups_of(request), request, airframe))

    def _groups_of(self, request: CurveRequest) -> GroupFits:
        key = (request.type or "", request.flap_setting)
        if key not in self._groups:
            chosen = PoolRequest(quantity=POSITION_ERROR, type=key[0], flap_setting=key[1])
            read = POSITION_ERROR.read(self._store, chosen)
            self._groups[key] = GroupFits(request, read)
        return self._groups[key]

    def answer(self, fitted: FittedGroup, flaps: str) -> OwnAnswer:
        """Return what an own curve says, as pages show it."""
        sources, kind = self._sources, fitted.known.type
        limits = stated_limits(kind, sources.handbooks)
        table = table_of_group(
            fitted,
            describe_curve(fitted),
            sources.made_on,
            form=sources.tables.form,
            limits=limits,
        )
        discreet = discreet_table(table, sources.discretion)
        if discreet.airframe is not None:
            words = tuple(map(sources.discretion.words, discreet.airframe.rests_on))
            discreet = replace(discreet, airframe=replace(discreet.airframe, rests_on=words))
        group = "" if fitted.group is None else str(fitted.group.name)
        page = self._pages.get((kind.name, group, flaps))
        tag = fitted.request.group
        return OwnAnswer(
            flap_setting=flaps,
            table=discreet,
            group=group,
            group_page="" if page is None else page.path,
            others=() if page is None else _others(page, tag),
            group_band=() if page is None else _band(page.table),
        )


def _others(page: GroupPage, tag: str) -> tuple[PlottedPoint, ...]:
    points = (*page.table.points, *page.outside_points)
    return tuple(point for point in points if point.airframe != tag)


def _band(table: PooledTable) -> tuple[tuple[float, float, float], ...]:
    """Return the band for another aircraft of a group, along its curve."""
    return tuple(
        (row.given_kt, row.next_low_kt, row.next_high_kt)
        for row in table.curve
        if row.next_low_kt is not None and row.next_high_kt is not None
    )
