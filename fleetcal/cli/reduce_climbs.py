"""Reduce the climbs or glides of a recorded flight."""

from __future__ import annotations

import math
from contextlib import nullcontext
from dataclasses import replace
from pathlib import Path

import click

from fleetcal.cli.failure import warn
from fleetcal.cli.new_airframe import added_if_new
from fleetcal.cli.options import open_chosen_store
from fleetcal.cli.reduce_options import ReduceOptions, flight_details
from fleetcal.cli.repeated_flight import kept_by_choice


def reduce_climbs(log: Path, kind: str, options: ReduceOptions) -> None:
    """Reduce the climbs or glides of a log as the options say, and print them."""
    for name, value in (
        ("--airframe", options["airframe"]),
        ("--power-state", options["power_state"]),
    ):
        if value is None:
            raise click.UsageError(f"Missing option '{name}' for '--quantity {kind}'")
    from fleetcal.cli.climb_views import REDUCED_CLIMBS
    from fleetcal.cli.output import emit
    from fleetcal.services.flights.settings_file import read_settings
    from fleetcal.services.performance.reduce_climbs import ClimbTask
    from fleetcal.services.performance.reduce_climbs import reduce_climbs as reduce_them

    from_s, to_s = options["between_s"] or (0.0, math.inf)
    from_ft, to_ft = options["between_ft"] or (-math.inf, math.inf)
    task = ClimbTask(
        kind=kind,
        power_state=options["power_state"] or "",
        thrust_power_kw=options["thrust_power_kw"],
        power_held=options["power_held"],
        from_s=max(from_s, 0.0),
        to_s=to_s,
        from_ft=from_ft,
        to_ft=to_ft,
        gradient_kt_per_1000ft=options["gradient"],
    )
    settings = read_settings(options["settings_file"])
    tag, weight_kg = options["airframe"], options["weight_kg"] or options["takeoff_weight_kg"]
    added = added_if_new(tag or "", options["new_airframe"], weight_kg)
    with nullcontext() if options["preview"] else added, open_chosen_store() as store:
        details = flight_details(options)
        result = kept_by_choice(
            lambda choice: reduce_them(
                *(store, log, replace(details, repeat=choice)),
                task=task,
                settings=settings,
                preview=options["preview"],
            ),
            details.repeat,
        )
    warn(result.warnings)
    emit(result, REDUCED_CLIMBS)
