"""A watch on one airframe: its flights in order, and whether its airspeed error changed.

A known change of the static source begins a new series: it is judged by `change`, which may
use other airframes for it. An engine or propeller changed while the static source stayed is
marked, and a change found there is put down to it first.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from fleetcal.fleet.watch import watch_flights
from fleetcal.services.curves.groups import find_type
from fleetcal.services.curves.pooled_point import fleet_points
from fleetcal.services.curves.position_error import pooled_points
from fleetcal.services.curves.watch_numbers import numbers_of
from fleetcal.services.curves.watch_words import hints_on, model_words, notes_on, verdict_words
from fleetcal.services.curves.watched_flights import CHANGED, TOO_FEW, UNCHANGED, Watched
from fleetcal.services.curves.watched_series import FlightSeries, series_of
from fleetcal.store import PointFilter, Store, load_description, select_points, type_of_airframe


def watch_airframe(
    store: Store,
    tag: str,
    flap_setting: str = "up",
    static_source: str | None = None,
    figure: Path | None = None,
) -> Watched:
    """Watch the flights of one airframe since its static source was fitted.

    Args:
        static_source: An earlier one that it had, in place of the one in force.
        figure: Draw the flights into this file, .svg, .png or .pdf.

    Raises:
        UnknownNameError: If the airframe is not in the store, or never had the static source.
        FitError: If it has no accepted points of that time.
    """
    with store.lookup() as reader:
        description = load_description(reader)
        type_of_airframe(reader, tag)  # refuses one that is not there
        rows = select_points(reader, PointFilter(airframe=tag, flap_setting=flap_setting))
    airframe = next(one for one in description.airframes if one.tag == tag)
    kind = find_type(description, airframe.type)
    points = pooled_points(kind, rows)
    found = watch_series(series_of(airframe, kind, points, flap_setting, static_source))
    if figure is not None:
        from fleetcal.services.curves.draw_watch import draw_watch

        draw_watch(found, figure)
    return found


def watch_series(series: FlightSeries) -> Watched:
    """Watch a series of flights."""
    flight_of = [i for i, rows in enumerate(series.flights) for _ in rows]
    points = fleet_points(series.rows, flight_of, [0] * len(series.flights))
    found = watch_flights(points)
    numbers = numbers_of(series, found)
    changes, judged = numbers.changes(), found.long_enough
    after, smallest_kt = numbers.smallest_found()
    watched = Watched(
        airframe=series.airframe,
        type=series.type.name,
        static_source=series.static_source,
        flap_setting=series.flap_setting,
        since=series.since,
        weight_kg=series.type.reference_weight_kg,
        ias_kt=numbers.middle_kt,
        outcome=CHANGED if changes else UNCHANGED if judged else TOO_FEW,
        changes=changes,
        flights=numbers.flights(changes),
        p_value=found.p_value if judged else None,
        false_alarm_chance=found.false_alarm if judged else None,
        smallest_found_kt=smallest_kt,
        smallest_after_flights=after,
        more_changes=found.more,
        scatter_kt=numbers.scatter_kt(),
        known_changes=series.known_changes,
        left_out=series.left_out,
    )
    return replace(
        watched,
        verdict=verdict_words(watched),
        notes=notes_on(watched),
        hints=hints_on(watched, earlier=series.earlier),
        model=model_words(watched),
    )
