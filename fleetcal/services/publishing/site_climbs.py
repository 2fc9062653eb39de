"""The climbs and glides of a store as pages show them; curves of ports are fitted once for all."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager

from fleetcal.errors import FleetcalError
from fleetcal.publish.site.content_airframe import airframe_path
from fleetcal.publish.site.content_climbs import (
    BestSpeedLine,
    ClimbsPage,
    OwnRates,
    RateMember,
    RatesBlock,
    climbs_path,
)
from fleetcal.services.curves.fitted_group import CurveRequest, FittedGroup
from fleetcal.services.curves.group_name import GroupName
from fleetcal.services.curves.pooled_curve import fit_group
from fleetcal.services.curves.quantity import PoolRequest
from fleetcal.services.performance.answer_words import climbs_answer
from fleetcal.services.performance.climb import QUANTITY_OF
from fleetcal.services.performance.climb_airspeeds import fits_by
from fleetcal.services.performance.draw_climbs import measured_rates
from fleetcal.services.performance.pool_climbs import (
    PooledClimbs,
    climbs_of_airframe,
    pooled_rates,
)
from fleetcal.services.performance.rates_of_fit import RateRow, RatesOfFit
from fleetcal.services.publishing.discretion import Discretion
from fleetcal.services.publishing.site_cruise import cruise_blocks, own_cruise
from fleetcal.store import CruiseRow, Store, StoredClimb

#: Of the airframes, their own curve of position error at a flap setting.
OwnFits = Callable[[str, str], FittedGroup]


class SiteClimbs:
    """Makes what pages show of climbs and glides, from one state of a store."""

    def __init__(
        self,
        store: Store,
        climbs: Sequence[StoredClimb],
        cruise: Sequence[CruiseRow],
        own: OwnFits,
        discretion: Discretion,
    ) -> None:
        """Take all climbs, glides and runs with a power.

        Args:
            own: How an airframe's own position error is found.
        """
        self._store, self._own, self._discretion = store, own, discretion
        self._climbs, self._cruise = climbs, cruise
        self._fits: dict[CurveRequest, FittedGroup | FleetcalError] = {}

    @property
    def types(self) -> tuple[str, ...]:
        """Types with climbs, glides or cruise."""
        flown = {row.type for row in self._climbs} | {row.point.type for row in self._cruise}
        return tuple(sorted(flown))

    def page(self, type_name: str) -> ClimbsPage:
        """Return what was pooled of a type, pairing by pairing."""
        blocks, too_few = [], []
        rows = [row for row in self._climbs if row.type == type_name]
        for (kind, power_state, flaps), own in sorted(_states(rows).items()):
            request = PoolRequest(
                quantity=QUANTITY_OF[kind],
                type=type_name,
                flap_setting=flaps,
                power_state=power_state,
            )
            for pairing in sorted({str(GroupName("", r.engine, r.propeller)) for r in own}):
                try:
                    with self._fitting():
                        found, pooled = pooled_rates(self._store, request, pairing)
                    blocks.append(self._block(found, pooled))
                except FleetcalError as error:
                    words = f"{kind.capitalize()}s, {power_state}, {pairing}: {error.message}."
                    too_few.append(self._discretion.words(words))
        cruise, not_pooled = cruise_blocks(self._store, self._cruise, type_name, self._discretion)
        return ClimbsPage(
            type=type_name,
            blocks=tuple(blocks),
            too_few=(*too_few, *not_pooled),
            cruise=tuple(cruise),
        )

    def of_airframe(self, tag: str) -> tuple[OwnRates, ...]:
        """Return what an airframe's own climbs and glides say."""
        rows = [row for row in self._climbs if row.airframe == tag]
        found = []
        for (kind, power_state, flaps), own in sorted(_states(rows).items()):
            request = PoolRequest(
                quantity=QUANTITY_OF[kind], flap_setting=flaps, power_state=power_state
            )
            try:
                with self._fitting():
                    answers = tuple(climbs_answer(climbs_of_airframe(self._store, request, tag)))
            except FleetcalError as error:
                answers = (f"{error.message[:1].upper()}{error.message[1:]}.",)
            found.append(
                OwnRates(
                    kind=kind,
                    power_state=power_state,
                    flap_setting=flaps,
                    measurements=len(own),
                    answers=tuple(map(self._discretion.words, answers)),
                    page=climbs_path(own[0].type),
                )
            )
        runs = [row for row in self._cruise if row.point.airframe == tag]
        return (*found, *own_cruise(self._store, runs, self._discretion))

    @contextmanager
    def _fitting(self) -> Iterator[None]:
        with fits_by(self._fit):
            yield

    def _fit(self, request: CurveRequest) -> FittedGroup:
        """Return a curve of position error, which is fitted once; a refusal is kept as well."""
        if request not in self._fits:
            tags = {row.airframe for row in self._climbs}
            try:
                self._fits[request] = (
                    self._own(request.group, request.flap_setting)
                    if request.group in tags
                    else fit_group(self._store, request)
                )
            except FleetcalError as error:
                self._fits[request] = error
        found = self._fits[request]
        if isinstance(found, FleetcalError):
            raise found
        return found

    def _block(self, found: PooledClimbs, pooled: RatesOfFit) -> RatesBlock:
        words = self._discretion.words
        notes = (*found.doubts, *found.notes, *found.left_out, *found.without)
        return RatesBlock(
            kind=found.kind,
            power_state=found.power_state,
            flap_setting=found.flap_setting,
            pairing=found.pairing,
            weight_kg=found.weight_kg,
            altitude_ft=found.altitude_ft,
            answers=tuple(climbs_answer(found)),
            best=_best(found),
            rows=tuple(map(_cells, found.rows)),
            curve=tuple(map(_cells, pooled.rows(1.0))),
            points=measured_rates(pooled.known, pooled.fit, pooled.group),
            members=tuple(
                RateMember(
                    airframe=one.airframe,
                    page=airframe_path(one.airframe),
                    measurements=one.measurements,
                    departure_ftmin=one.departure_ftmin,
                    at_cas_kt=one.at_cas_kt,
                    verdict=one.verdict,
                )
                for one in found.airframes
            ),
            measurements=found.measurements,
            notes=tuple(words(f"{one[:1].upper()}{one[1:]}.") for one in notes),
        )


def _states(
    rows: Sequence[StoredClimb],
) -> Mapping[tuple[str, str, str], list[StoredClimb]]:
    """Return climbs by kind, power state and flap setting."""
    found: dict[tuple[str, str, str], list[StoredClimb]] = {}
    for row in rows:
        found.setdefault((row.kind, row.power_state, row.flap_setting), []).append(row)
    return found


def _cells(row: RateRow) -> tuple[float | None, ...]:
    mean = (row.mean_low_ftmin, row.mean_high_ftmin)
    return (row.cas_kt, row.ias_kt, row.rate_ftmin, *mean, row.next_low_ftmin, row.next_high_ftmin)


def _best(found: PooledClimbs) -> tuple[BestSpeedLine, ...]:
    return tuple(
        BestSpeedLine(
            speed=one.speed,
            ias_kt=one.ias_kt,
            cas_kt=one.cas_kt,
            low_kt=one.low_kt,
            high_kt=one.high_kt,
            rate_ftmin=one.rate_ftmin,
            ratio=one.ratio,
            note=one.note,
        )
        for one in found.speeds
    )
