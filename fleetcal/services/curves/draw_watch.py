"""The figure of a watch on one airframe."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path

from fleetcal.atomic_write import write_atomically
from fleetcal.plain_text import signed
from fleetcal.publish.watch_figure import watch_figure
from fleetcal.publish.watch_picture import DrawnChange, DrawnFlight, WatchPicture
from fleetcal.services.curves.draw_standing import figure_kind
from fleetcal.services.curves.watch_words import OFF_BY_ITSELF
from fleetcal.services.curves.watched_flights import Watched


def draw_watch(found: Watched, file: Path) -> None:
    """Draw the flights of a watch.

    Args:
        file: The ending tells the kind.

    Raises:
        DataError: If the ending is unknown, or the file cannot be written.
    """
    kind = figure_kind(file)
    write_atomically(file, watch_figure(picture_of(found, date.isoformat), kind))


def picture_of(found: Watched, day: Callable[[date], str]) -> WatchPicture:
    """Return what a drawing of a watch shows.

    Args:
        day: How a day is written.
    """
    before = " before the first change" if found.changes else ""
    new: dict[float, list[str]] = {}
    for change in found.known_changes:
        flown = sum(one.flown_on < change.day for one in found.flights)
        new.setdefault(flown + 0.5, []).append(f"new {change.what}, {day(change.day)}")
    return WatchPicture(
        title=f"{found.airframe}: its flights with the {found.static_source}",
        facts=f"{found.type}, flaps {found.flap_setting}; at {found.ias_kt:.0f} kt IAS and "
        f"{found.weight_kg:.0f} kg",
        verdict=f"{found.verdict}.",
        heading=f"correction to add, minus its own mean{before}, kt",
        flights=tuple(
            DrawnFlight(
                number=one.flight,
                day=day(one.flown_on),
                value_kt=one.from_own_kt,
                low_kt=one.low_kt,
                high_kt=one.high_kt,
                level_kt=one.level_kt,
                allowed_low_kt=one.allowed_low_kt,
                allowed_high_kt=one.allowed_high_kt,
                odd=OFF_BY_ITSELF in one.mark,
            )
            for one in found.flights
        ),
        changes=tuple(
            DrawnChange(
                one.first_flight_after,
                one.perhaps_after_flight,
                one.perhaps_before_flight,
                f"{signed(one.middle.change_kt)} kt",
            )
            for one in found.changes
        ),
        known=tuple((at, "; ".join(words)) for at, words in sorted(new.items())),
    )
