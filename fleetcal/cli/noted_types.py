"""What a pilot notes of the air, as it is written: a temperature, an altimeter setting."""

from __future__ import annotations

import re
from typing import Final

import click

_WRITTEN: Final = re.compile(r"([+-]?\d+(?:[.,]\d+)?)\s*°?\s*([A-Za-z]*)")
_DEGREES: Final = {"": "degC", "c": "degC", "degc": "degC", "f": "degF", "degf": "degF", "k": "K"}
_PRESSURES: Final = {"": "", "hpa": "hPa", "mb": "hPa", "mbar": "hPa", "inhg": "inHg", "in": "inHg"}
_TEMPERATURES_DEGC: Final = (-60.0, 60.0)


class Temperature(click.ParamType[float]):
    """A temperature written 8C or 46F; a plain number is in degrees Celsius."""

    name = "8C|46F"

    def convert(
        self, value: object, param: click.Parameter | None, ctx: click.Context | None
    ) -> float:
        """Return the temperature in degrees Celsius, or fail with the usage."""
        if isinstance(value, float):
            return value
        number, word = _parts(value)
        unit = _DEGREES.get(word)
        if number is None or unit is None:
            self.fail(f"{str(value)!r} is not a temperature; write 8C or 46F", param, ctx)
        from fleetcal.services.units_shown import degrees_celsius

        celsius = degrees_celsius(number, unit)
        low, high = _TEMPERATURES_DEGC
        if not low <= celsius <= high:
            self.fail(f"{str(value)!r} is {celsius:.0f} °C, which no air is", param, ctx)
        return celsius


class AltimeterSetting(click.ParamType[float]):
    """An altimeter setting in hPa or in inches of mercury, by its size or with its unit."""

    name = "1013|29.92"

    def convert(
        self, value: object, param: click.Parameter | None, ctx: click.Context | None
    ) -> float:
        """Return the setting in hPa, or fail with the usage."""
        if isinstance(value, float):
            return value
        number, word = _parts(value)
        unit = _PRESSURES.get(word)
        from fleetcal.services.units_shown import setting_hpa

        setting = None if number is None or unit is None else setting_hpa(number, unit)
        if setting is None:
            self.fail(
                f"{str(value)!r} is not an altimeter setting; write 1013 or 29.92", param, ctx
            )
        return setting


def _parts(value: object) -> tuple[float | None, str]:
    found = _WRITTEN.fullmatch(str(value).strip())
    if found is None:
        return None, "?"
    return float(found[1].replace(",", ".")), found[2].lower()
