"""Options of reducing recorded flights: one, a folder of them, or climbs and glides."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Final

import click

from fleetcal.cli.air_options import (
    AIR_OPTIONS,
    NOTED_OPTIONS,
    AirOptions,
    NotedOptions,
    air_of,
    air_options,
    noted_options,
    with_noted,
)
from fleetcal.cli.new_airframe import new_airframe_option
from fleetcal.cli.option_types import Band, Day, FigureFile, Number, NumberBand, RunAndLeg
from fleetcal.cli.options import (
    WEIGHT,
    airframe_option,
    file_option,
    flap_option,
    mapping_option,
    note_option,
    preview_option,
    settings_option,
    together,
    weight_option,
)
from fleetcal.cli.preferred import preferred_airframe
from fleetcal.cli.repeated_flight import another_flight_option, repeat_choice

if TYPE_CHECKING:
    from fleetcal.services.flights.reduction import FlightDetails


class ReduceOptions(AirOptions, NotedOptions):
    """What `reduce_options` adds."""

    airframe: str | None
    new_airframe: bool
    weight_kg: float | None
    takeoff_weight_kg: float | None
    fuel_used_kg_per_h: float | None
    flown_on: date | None
    flap_setting: str
    note: str
    airspeed_from: str | None
    mapping: Path | None
    settings_file: Path | None
    declination_deg: float | None
    heading: str
    solve_by: str
    keep_log: bool
    leg_list: Path | None
    drop: tuple[tuple[int, int], ...]
    keep: tuple[int, ...]
    figure: Path | None
    opening: bool
    rows: str
    preview: bool
    again: bool
    sortie: int | None
    replacing: bool
    another_flight: bool
    flights: Path | None
    processes: int | None
    workers_at: str | None
    power_state: str | None
    thrust_power_kw: float | None
    power_held: bool
    between_s: Band | None
    between_ft: Band | None
    gradient: float | None


_who = together(
    airframe_option(help="Tag of the airframe that flew: the flight is stored."),
    new_airframe_option,
    weight_option(help="Weight, the same for all runs."),
    click.option(
        "--takeoff-weight-kg",
        type=WEIGHT,
        help="Weight at take-off: each run gets its own, less the fuel used until then.",
    ),
    click.option(
        "--fuel-used-kg-per-h",
        type=Number(0.0, 10000.0),
        help="Fuel used from take-off on; the log's fuel flow if left out.",
    ),
    click.option("--date", "flown_on", type=Day(), help="Day of the flight, if the log has none."),
    flap_option,
    note_option(help="A note to keep with the sortie."),
    another_flight_option,
)
_log = together(
    mapping_option,
    click.option(
        "--airspeed-from",
        type=click.Choice(["indicated_airspeed", "impact_pressure", "true_airspeed"]),
        help="Which airspeed of the log to use, if it has several that disagree.",
    ),
    click.option(
        "--declination-deg",
        type=Number(-180.0, 180.0),
        help="Magnetic declination, east positive: makes magnetic tracks and winds true.",
    ),
    noted_options,
    air_options,
    settings_option,
    click.option(
        "--keep-log/--no-keep-log",
        default=False,
        show_default=True,
        help="Keep the log itself in the store, packed; see 'fleetcal logs'.",
    ),
)
_legs = together(
    click.option(
        "--heading",
        type=click.Choice(["ignored", "used"]),
        default="ignored",
        show_default=True,
        help="Let the logged heading tell the wind across it; a constant error of it is found.",
    ),
    click.option(
        "--solve-by",
        type=click.Choice(["legs", "manoeuvres", "flight"]),
        default="legs",
        show_default=True,
        help="Straight legs; every sample of steady turns and boxes; or an entire ordinary flight.",
    ),
    click.option(
        "--drop",
        type=RunAndLeg(),
        multiple=True,
        help="Leave out this leg of this run; may be repeated.",
    ),
    click.option(
        "--keep",
        type=click.IntRange(1),
        multiple=True,
        metavar="RUN",
        help="Solve only this run; may be repeated.",
    ),
    file_option(
        "--legs",
        "leg_list",
        help="Cut the legs as this CSV file lists them (run, start_s, stop_s).",
    ),
    click.option(
        "--out",
        "figure",
        type=FigureFile(".svg", ".png", ".html", ".pdf"),
        help="Write the report of the flight (.html, .pdf), or the figure alone (.svg, .png).",
    ),
    click.option(
        "--open",
        "opening",
        is_flag=True,
        help="Show the report in the browser; without --out as a file that can be kept.",
    ),
    click.option(
        "--rows",
        type=click.Choice(["runs", "legs"]),
        default="runs",
        show_default=True,
        help="Which rows '--format csv' prints; the legs are all that were found.",
    ),
)
_again = together(
    click.option("--again", is_flag=True, help="Reduce stored flights anew, and compare."),
    click.option("--sortie", type=click.IntRange(1), help="With --again: only this sortie."),
    click.option(
        "--replace",
        "replacing",
        is_flag=True,
        help="With --again: store what changes. Without: take the place of the same flight stored "
        "from another file.",
    ),
)
_folder = together(
    file_option(
        "--flights",
        help="CSV of the flights: file, airframe, weight_kg, date; also takeoff_weight_kg, "
        "fuel_used_kg_per_h, oat_degc, altimeter_setting, humidity_pct, dew_point_degc, "
        "flap_setting, note. An empty cell "
        "takes the option's value.",
    ),
    click.option(
        "--processes",
        type=click.IntRange(1, 32),
        help="Processes that compute; chosen to fit the work if left out.",
    ),
    click.option(
        "--workers-at",
        metavar="ADDRESS",
        help="Let the workers of a Dask cluster compute: the address of its scheduler, such as "
        "tcp://10.0.0.5:8786.",
    ),
)
_climbs = together(
    click.option(
        "--power-state", metavar="TEXT", help="Tag, such as full power, idle, stopped; needed."
    ),
    click.option(
        "--thrust-kw",
        "thrust_power_kw",
        type=Number(0.1, 10000.0),
        help="Of climbs: shaft power times propeller efficiency, to about 10 %.",
    ),
    click.option(
        "--power-held", is_flag=True, help="A governor holds the power whatever the temperature."
    ),
    click.option(
        "--between-s", type=NumberBand(0.0, 1e7), help="Only what lies between, s of the log."
    ),
    click.option(
        "--between-ft",
        type=NumberBand(-2000.0, 60000.0),
        help="Only the part of each in this block of pressure altitude.",
    ),
    click.option(
        "--allow-gradient-kt-per-1000ft",
        "gradient",
        type=Number(0.1, 50.0),
        help="Accept those flown one way too, with this standard uncertainty of the wind's change.",
    ),
)
reduce_options = together(preview_option, _who, _log, _legs, _again, _folder, _climbs)

_WHO: Final = (
    "airframe",
    "new_airframe",
    "weight_kg",
    "takeoff_weight_kg",
    "fuel_used_kg_per_h",
    "flown_on",
)
_LEGS: Final = ("solve_by", "heading", "drop", "keep", "leg_list", "figure", "opening", "rows")
_AGAIN: Final = ("again", "sortie", "replacing")
_FOLDER: Final = ("flights", "processes", "workers_at")
_CLIMBS: Final = (
    *("power_state", "thrust_power_kw", "power_held", "between_s", "between_ft", "gradient"),
)
#: Headings of the help, and the options below each; the others stand under "Options".
SECTIONS: Final[Mapping[str, Sequence[str]]] = {
    "Who flew, when, how heavy": (*_WHO, "flap_setting", "note", "another_flight"),
    "How the log is read": (
        *("mapping", "airspeed_from", "declination_deg", *NOTED_OPTIONS, *AIR_OPTIONS),
        *("settings_file", "keep_log"),
    ),
    "Legs and runs of one flight": _LEGS,
    "Stored flights again": _AGAIN,
    "A folder of flights": _FOLDER,
    "Climbs and glides": _CLIMBS,
}
FLIGHT: Final = "one flight"
FOLDER: Final = "a folder of flights"
CLIMBS: Final = "climbs and glides"
#: What each option is for; one that is not listed is for all.
FITS: Final[Mapping[str, Sequence[str]]] = {
    **dict.fromkeys((*_LEGS, *_AGAIN[:2]), (FLIGHT,)),
    **dict.fromkeys(("takeoff_weight_kg", "fuel_used_kg_per_h", "preview"), (FLIGHT, CLIMBS)),
    **dict.fromkeys(("solve_by", "heading", "declination_deg", "keep_log"), (FLIGHT, FOLDER)),
    **dict.fromkeys(_FOLDER, (FOLDER,)),
    **dict.fromkeys(_CLIMBS, (CLIMBS,)),
}


def refuse_contradictions(options: ReduceOptions) -> None:
    """Fail with the usage where options contradict each other."""
    takeoff = options["takeoff_weight_kg"]
    if options["weight_kg"] is not None and takeoff is not None:
        raise click.UsageError("'--weight-kg' and '--takeoff-weight-kg' contradict each other")
    if options["fuel_used_kg_per_h"] is not None and takeoff is None:
        raise click.UsageError("'--fuel-used-kg-per-h' needs '--takeoff-weight-kg'")
    chosen = bool(options["drop"] or options["keep"])
    if options["leg_list"] is not None and chosen:
        raise click.UsageError("'--legs' says it all: edit the list instead of '--drop', '--keep'")
    by = options["solve_by"]
    if by != "legs" and (options["leg_list"] is not None or chosen):
        raise click.UsageError(
            f"'--drop', '--keep' and '--legs' choose between legs, not '--solve-by {by}'"
        )


def take_preferred_airframe(options: ReduceOptions) -> None:
    """Let the preferred airframe be meant where none is named and the flight is to be kept."""
    if not options["preview"] and options["flights"] is None:
        options["airframe"] = preferred_airframe(options["airframe"])


def flight_details(options: ReduceOptions) -> FlightDetails:
    """Return what the options say of a flight, as a service takes it."""
    from fleetcal.services.flights.reduction import FlightDetails, HandChoices

    return FlightDetails(
        airframe=options["airframe"],
        weight_kg=options["weight_kg"],
        flown_on=options["flown_on"],
        flap_setting=options["flap_setting"],
        airspeed_from=options["airspeed_from"],
        note=options["note"],
        declination_deg=options["declination_deg"],
        heading=options["heading"],
        solve_by=options["solve_by"],
        takeoff_weight_kg=options["takeoff_weight_kg"],
        fuel_used_kg_per_h=options["fuel_used_kg_per_h"],
        choices=HandChoices(options["drop"], options["keep"], options["leg_list"]),
        mapping=options["mapping"],
        keep_log=options["keep_log"],
        air=with_noted(air_of(options), options),
        repeat=repeat_choice(
            another=options["another_flight"],
            replacing=options["replacing"] and not options["again"],
        ),
    )
