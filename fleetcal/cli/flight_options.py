"""Options on the reduction of flights, shared by one flight and a whole folder."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import click

from fleetcal.cli.options import Command, Day, Number, flap_option

if TYPE_CHECKING:
    from fleetcal.services.flights.air_taken import StatedAir


class RunAndLeg(click.ParamType[tuple[int, int]]):
    """A leg of a run, written RUN:LEG."""

    name = "RUN:LEG"

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> tuple[int, int]:
        """Return both numbers, or fail with the usage."""
        run, colon, leg = str(value).partition(":")
        if not colon or not run.isdecimal() or not leg.isdecimal():
            self.fail(f"{value!r} is not a leg of a run; write RUN:LEG, such as 2:1", param, ctx)
        return int(run), int(leg)


class FigureFile(click.ParamType[Path]):
    """A file whose ending tells what kind of picture it is."""

    name = "FILE"
    endings = (".svg", ".png", ".pdf")

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Path:
        """Return the path, or fail with the usage."""
        path = Path(value)
        if path.suffix.lower() not in self.endings:
            self.fail(f"{str(value)!r} must end in {', '.join(self.endings)}", param, ctx)
        return path


def air_options(command: Command) -> Command:
    """Add the options that say what temperature and humidity of a flight are."""
    for option in (
        click.option(
            "--dew-point-degc",
            type=Number(-80.0, 40.0),
            help="Dew point of the air flown in, if the file has none.",
        ),
        click.option(
            "--humidity-pct",
            type=Number(0.0, 100.0),
            help="Relative humidity of the air flown in, if the file has none.",
        ),
        click.option(
            "--recovery-factor",
            type=Number(0.0, 1.0),
            help="Of the temperature probe: share of the ram rise that it feels.",
        ),
        click.option(
            "--temperature-shows",
            type=click.Choice(["ambient", "probe"]),
            help="For this flight alone: the display shows outside temperature, or what its "
            "probe feels; for good with 'fleetcal fleet temperature'.",
        ),
    ):
        command = option(command)
    return command


#: Names of what `air_options` adds.
AIR_OPTIONS: Final = ("temperature_shows", "recovery_factor", "humidity_pct", "dew_point_degc")


def said_of_the_air(options: dict[str, Any]) -> StatedAir:
    """Take what `air_options` gave out of the options of a command.

    Raises:
        click.UsageError: If they contradict each other.
    """
    told = {name: options.pop(name) for name in AIR_OPTIONS}
    if told["humidity_pct"] is not None and told["dew_point_degc"] is not None:
        raise click.UsageError("'--humidity-pct' and '--dew-point-degc' say the same: give one")
    if told["temperature_shows"] == "ambient" and told["recovery_factor"] is not None:
        raise click.UsageError("'--recovery-factor' is of a probe, not of '--temperature-shows'")
    from fleetcal.services.flights.air_taken import stated_air

    return stated_air(**told)


def reduction_options(command: Command) -> Command:
    """Add the options that say how flights are reduced."""
    command = air_options(command)
    for option in (
        click.option("--note", default="", help="A note to keep with the sortie."),
        click.option(
            "--keep-log/--no-keep-log",
            default=False,
            show_default=True,
            help="Keep the log itself in the store, packed; see 'fleetcal logs'.",
        ),
        click.option(
            "--solve-by",
            type=click.Choice(["legs", "manoeuvres"]),
            default="legs",
            show_default=True,
            help="Straight legs, or every sample of steady turns and boxes at constant power.",
        ),
        click.option(
            "--declination-deg",
            type=Number(-180.0, 180.0),
            help="Magnetic declination, east positive: makes magnetic tracks and winds true.",
        ),
        click.option(
            "--settings",
            "settings_file",
            type=click.Path(path_type=Path),
            help="TOML file of tolerances and assumed uncertainties; see 'fleetcal settings'.",
        ),
        click.option(
            "--mapping",
            type=click.Path(path_type=Path),
            metavar="FILE",
            help="TOML file that says what the headings of the log do not.",
        ),
        click.option(
            "--airspeed-from",
            type=click.Choice(["indicated_airspeed", "impact_pressure", "true_airspeed"]),
            help="Which airspeed of the log to use, if it has several that disagree.",
        ),
        flap_option,
        click.option(
            "--date", "flown_on", type=Day(), help="Day of the flight, if the log has none."
        ),
        click.option(
            "--weight-kg", type=Number(1.0, 100000.0), help="Weight, the same for all runs."
        ),
    ):
        command = option(command)
    return command


def choice_options(command: Command) -> Command:
    """Add the options that decide about weight, legs and runs of one flight."""
    for option in (
        click.option(
            "--legs",
            "leg_list",
            type=click.Path(path_type=Path),
            metavar="FILE",
            help="Cut the legs as this CSV file lists them (run, start_s, stop_s).",
        ),
        click.option(
            "--keep",
            type=click.IntRange(1),
            multiple=True,
            metavar="RUN",
            help="Solve only this run; may be repeated.",
        ),
        click.option(
            "--drop",
            type=RunAndLeg(),
            multiple=True,
            help="Leave out this leg of this run; may be repeated.",
        ),
        click.option(
            "--fuel-used-kg-per-h",
            type=Number(0.0, 10000.0),
            help="Fuel used from take-off on; the log's fuel flow if left out.",
        ),
        click.option(
            "--takeoff-weight-kg",
            type=Number(1.0, 100000.0),
            help="Weight at take-off: each run gets its own, less the fuel used until then.",
        ),
    ):
        command = option(command)
    return command


def refuse_contradictions(
    details: Mapping[str, Any],
    leg_list: Path | None,
    drop: tuple[tuple[int, int], ...],
    keep: tuple[int, ...],
) -> None:
    """Fail with the usage where options contradict each other.

    Raises:
        click.UsageError
    """
    takeoff = details["takeoff_weight_kg"]
    if details["weight_kg"] is not None and takeoff is not None:
        raise click.UsageError("'--weight-kg' and '--takeoff-weight-kg' contradict each other")
    if details["fuel_used_kg_per_h"] is not None and takeoff is None:
        raise click.UsageError("'--fuel-used-kg-per-h' needs '--takeoff-weight-kg'")
    if leg_list is not None and (drop or keep):
        raise click.UsageError("'--legs' says it all: edit the list instead of '--drop', '--keep'")
    if details["solve_by"] == "manoeuvres" and (leg_list is not None or drop or keep):
        raise click.UsageError(
            "'--drop', '--keep' and '--legs' choose between legs, not '--solve-by manoeuvres'"
        )
