"""The watch on an airframe as its page shows it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from fleetcal.errors import FleetcalError
from fleetcal.publish.site.content_airframe import WatchBlock, WatchLine
from fleetcal.publish.site.content_sortie import sortie_path
from fleetcal.publish.watch_picture import WatchPicture
from fleetcal.services.curves.draw_watch import picture_of
from fleetcal.services.curves.position_error import pooled_points
from fleetcal.services.curves.watch_airframe import watch_series
from fleetcal.services.curves.watch_words import size_words
from fleetcal.services.curves.watched_flights import Watched
from fleetcal.services.curves.watched_series import series_of
from fleetcal.services.publishing.discretion import Discretion
from fleetcal.store import AirframeDescription, StoredPoint, TypeDescription

#: Fewer flights than these are not worth a picture on a page.
FEWEST_SHOWN: Final = 3


def watches_of(
    airframe: AirframeDescription,
    kind: TypeDescription,
    rows: Sequence[StoredPoint],
    discretion: Discretion,
) -> tuple[WatchBlock, ...]:
    """Watch an airframe since its static source was fitted, at each flap setting flown.

    Args:
        rows: All its points.

    Returns:
        Of those with three flights or more.
    """
    blocks = []
    for flap_setting in sorted({row.flap_setting for row in rows}):
        own = [row for row in rows if row.flap_setting == flap_setting]
        if len({row.sortie_id for row in own}) < FEWEST_SHOWN:
            continue
        try:
            series = series_of(airframe, kind, pooled_points(kind, own), flap_setting)
            if len(series.flights) < FEWEST_SHOWN:
                continue
            found = watch_series(series)
        except FleetcalError:  # nothing flown since, or points that no fit survives
            continue
        blocks.append(_block(found, discretion))
    return tuple(blocks)


def _block(found: Watched, discretion: Discretion) -> WatchBlock:
    discreet = discretion.words
    lines = tuple(
        WatchLine(
            flight=one.flight,
            flown=discretion.day(one.flown_on),
            points=one.points,
            from_own_kt=one.from_own_kt,
            low_kt=one.low_kt,
            high_kt=one.high_kt,
            mark=one.mark,
            sortie=sortie_path(one.sortie_id),
        )
        for one in found.flights
    )
    notes = (*map(size_words, found.changes), *(f"{note}." for note in found.notes))
    picture = picture_of(found, discretion.day)
    titled = replace(picture, title=f"{picture.title}, flaps {found.flap_setting}")
    return WatchBlock(
        picture=_discreet(titled, discretion),
        flights=lines,
        notes=tuple(map(discreet, notes)),
    )


def _discreet(picture: WatchPicture, discretion: Discretion) -> WatchPicture:
    discreet = discretion.words
    return replace(
        picture,
        title=discreet(picture.title),
        facts=discreet(picture.facts),
        verdict=discreet(picture.verdict),
        known=tuple((place, discreet(words)) for place, words in picture.known),
    )
