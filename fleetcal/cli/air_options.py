"""Options that say what temperature and humidity of a flight are."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final, TypedDict

import click

from fleetcal.cli.noted_types import AltimeterSetting, Temperature
from fleetcal.cli.option_types import Number
from fleetcal.cli.options import together

if TYPE_CHECKING:
    from fleetcal.services.flights.air_taken import StatedAir


class AirOptions(TypedDict):
    """What `air_options` adds."""

    temperature_shows: str | None
    recovery_factor: float | None
    humidity_pct: float | None
    dew_point_degc: float | None


AIR_OPTIONS: Final = tuple(AirOptions.__annotations__)
air_options = together(
    click.option(
        "--temperature-shows",
        type=click.Choice(["ambient", "probe"]),
        help="For this flight alone: the display shows outside temperature, or what its "
        "probe feels; for good with 'fleetcal fleet temperature'.",
    ),
    click.option(
        "--recovery-factor",
        type=Number(0.0, 1.0),
        help="Of the temperature probe: share of the ram rise that it feels.",
    ),
    click.option(
        "--humidity-pct",
        type=Number(0.0, 100.0),
        help="Relative humidity of the air flown in, if the file has none.",
    ),
    click.option(
        "--dew-point-degc",
        type=Number(-80.0, 40.0),
        help="Dew point of the air flown in, if the file has none.",
    ),
)


class NotedOptions(TypedDict):
    """What `noted_options` adds."""

    oat_degc: float | None
    altimeter_setting: float | None


NOTED_OPTIONS: Final = tuple(NotedOptions.__annotations__)
noted_options = together(
    click.option(
        "--oat",
        "--oat-degc",
        "oat_degc",
        type=Temperature(),
        help="Outside temperature read at the height flown, if the file logs none.",
    ),
    click.option(
        "--altimeter-setting",
        type=AltimeterSetting(),
        help="What the altimeter was set to, if the file logs altitudes that are not pressure "
        "altitudes.",
    ),
)


def with_noted(air: StatedAir, options: NotedOptions) -> StatedAir:
    """Return what is said of the air with what was noted of it."""
    from fleetcal.services.flights.air_taken import stated_air

    noted = stated_air(oat_degc=options["oat_degc"], altimeter_setting=options["altimeter_setting"])
    return replace(air, temperature_k=noted.temperature_k, setting_pa=noted.setting_pa)


def air_of(options: AirOptions) -> StatedAir:
    """Return what `air_options` gave as a service takes it.

    Raises:
        click.UsageError: If they contradict each other.
    """
    if options["humidity_pct"] is not None and options["dew_point_degc"] is not None:
        raise click.UsageError("'--humidity-pct' and '--dew-point-degc' say the same: give one")
    if options["temperature_shows"] == "ambient" and options["recovery_factor"] is not None:
        raise click.UsageError("'--recovery-factor' is of a probe, not of '--temperature-shows'")
    from fleetcal.services.flights.air_taken import stated_air

    return stated_air(
        temperature_shows=options["temperature_shows"],
        recovery_factor=options["recovery_factor"],
        humidity_pct=options["humidity_pct"],
        dew_point_degc=options["dew_point_degc"],
    )
