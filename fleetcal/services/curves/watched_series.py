"""Which flights of an airframe are one series, and what was changed in between on purpose."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise
from typing import Final

from fleetcal.errors import FitError, UnknownNameError
from fleetcal.services.curves.count_reasons import count_reasons
from fleetcal.services.curves.pooled_point import PooledPoint
from fleetcal.store import AirframeDescription, FitDescription, TypeDescription

#: What of a fit may change while the static source stays, with what it is called.
_PARTS: Final = (("engine", "engine"), ("propeller", "propeller"), ("pitot", "pitot tube"))


@dataclass(frozen=True)
class EquipmentChange:
    """Something that was changed on purpose while the static source stayed."""

    day: date
    what: str


@dataclass(frozen=True, kw_only=True)
class FlightSeries:
    """The flights of one airframe with one static source, in their order.

    Attributes:
        since: Day from which the static source was fitted.
        flights: Points of each flight.
        left_out: Points that do not count, in words.
        earlier: Whether it flew with another static source before.
    """

    airframe: str
    type: TypeDescription
    static_source: str
    flap_setting: str
    since: date
    flights: tuple[tuple[PooledPoint, ...], ...]
    known_changes: tuple[EquipmentChange, ...]
    left_out: tuple[str, ...]
    earlier: bool

    @property
    def days(self) -> list[date]:
        """Day of each flight."""
        return [rows[0].flown_on for rows in self.flights]

    @property
    def rows(self) -> list[PooledPoint]:
        """Points of all flights."""
        return [row for rows in self.flights for row in rows]


def series_of(
    airframe: AirframeDescription,
    kind: TypeDescription,
    points: Sequence[PooledPoint],
    flap_setting: str,
    static_source: str | None = None,
) -> FlightSeries:
    """Return the flights since the static source in force was fitted.

    Args:
        points: All of the airframe at the flap setting, also those that do not count.
        static_source: Another that it had; the last time that it had it.

    Raises:
        UnknownNameError: If the airframe never had that static source.
        FitError: If no point of that time counts.
    """
    fits = sorted(airframe.fits, key=lambda fit: fit.from_date)
    own, after = _last_time(airframe.tag, fits, static_source)
    source, since = own[0].static_source, own[0].from_date
    stop = after[0].from_date if after else None
    within = [p for p in points if p.flown_on >= since and (stop is None or p.flown_on < stop)]
    counting = [p for p in within if p.accepted and not p.barred]
    out = [p for p in within if not (p.accepted and not p.barred)]
    left_out = count_reasons((p.airframe, p.barred or p.reason) for p in out)
    if not counting:
        why = f" ({'; '.join(left_out)})" if left_out else ""
        raise FitError(
            f"{airframe.tag}: no accepted points with flaps {flap_setting} since its {source} was "
            f"fitted on {since}{why}",
            "reduce a flight of it, or watch an earlier one with --static-source",
        )
    by_flight: dict[int, list[PooledPoint]] = {}
    for point in sorted(counting, key=lambda p: (p.flown_on, p.sortie_id, p.number)):
        by_flight.setdefault(point.sortie_id, []).append(point)
    return FlightSeries(
        airframe=airframe.tag,
        type=kind,
        static_source=source,
        flap_setting=flap_setting,
        since=since,
        flights=tuple(tuple(rows) for rows in by_flight.values()),
        known_changes=_known_changes(own),
        left_out=left_out,
        earlier=any(fit.static_source != source for fit in fits if fit.from_date < since),
    )


def _last_time(
    tag: str, fits: Sequence[FitDescription], static_source: str | None
) -> tuple[list[FitDescription], list[FitDescription]]:
    """Return the last fits on end with a static source, and those after them."""
    if static_source is None:
        name = fits[-1].static_source
    else:
        known = {fit.static_source.casefold(): fit.static_source for fit in fits}
        if static_source.strip().casefold() not in known:
            raise UnknownNameError(
                f"{tag} never had a static source {static_source!r}",
                f"it had: {', '.join(sorted(set(known.values())))}",
            )
        name = known[static_source.strip().casefold()]
    last = max(i for i, fit in enumerate(fits) if fit.static_source == name)
    first = last
    while first and fits[first - 1].static_source == name:
        first -= 1
    return list(fits[first : last + 1]), list(fits[last + 1 :])


def _known_changes(fits: Sequence[FitDescription]) -> tuple[EquipmentChange, ...]:
    found = []
    for before, after in pairwise(fits):
        changed = [word for name, word in _PARTS if getattr(before, name) != getattr(after, name)]
        found.append(EquipmentChange(after.from_date, " and ".join(changed) or after.note or "fit"))
    return tuple(found)
