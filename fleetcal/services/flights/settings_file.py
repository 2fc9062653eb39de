"""Settings of a reduction: the defaults, and a TOML file that overrides them.

The file speaks the trade's units; one table of endings turns a field such as
`airspeed_drift_mps` into the key `airspeed_drift_kt` and back.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, fields, replace
from pathlib import Path
from typing import Any, Final, TypeVar

from fleetcal.airdata.atmosphere import Array
from fleetcal.airdata.budget import Assumptions
from fleetcal.airdata.reading import Readings
from fleetcal.errors import DataError, MalformedFileError
from fleetcal.flightlog import AirspeedSettings, LegSettings, ManoeuvreSettings, RunSettings
from fleetcal.flightlog.climbs import ClimbSettings
from fleetcal.plain_file import text_of, toml_of
from fleetcal.services.flights.air_taken import (
    HumidityTaken,
    LoggedHumidity,
    StatedAir,
    TemperatureTaken,
    humidity_taken,
    humidity_unknown,
    temperature_taken,
)
from fleetcal.services.flights.settings_words import explained_toml
from fleetcal.units import MPS_PER_FTMIN, MPS_PER_KT, RAD_PER_DEG

# ending of a field -> (ending of a key, SI value of one of its units)
_ENDINGS: Final[dict[str, tuple[str, float]]] = {
    "humidity": ("humidity_pct", 0.01),
    "gentlest_mps": ("gentlest_ftmin", MPS_PER_FTMIN),
    "rate_change_mps2": ("rate_change_ftmin_per_s", MPS_PER_FTMIN),
    "climb_rate_mps": ("climb_rate_ftmin", MPS_PER_FTMIN),
    "_mps2": ("_kt_per_min", MPS_PER_KT / 60.0),
    "_radps": ("_deg_per_s", RAD_PER_DEG),
    "_mps": ("_kt", MPS_PER_KT),
    "_rad": ("_deg", RAD_PER_DEG),
    "_m": ("_ft", 0.3048),
}

#: What each flight has of its own, and no settings file says.
_OF_THE_FLIGHT: Final = ("recovery_owner",)
_FEWEST_LEGS: Final = 3
_ABOVE_ZERO: Final = ("airspeed_apart_mps", "altitude_apart_m", "prior_weight")

Section = TypeVar("Section", LegSettings, RunSettings, Assumptions)


@dataclass(frozen=True)
class Probe:
    """The outside-air temperature probe.

    Attributes:
        recovery_factor: Share of the ram rise that the probe feels, whatever stands with the
            airframe; readings called total take 1, readings called ambient or static 0.
    """

    recovery_factor: float | None = None


@dataclass(frozen=True)
class AirOfTheDay:
    """The humidity of a day of which nobody noted it.

    The defaults are what the air below the clouds of fair weather has: common practice,
    no published source.

    Attributes:
        driest_humidity, moistest_humidity: Relative humidity that it lies between, 1 at saturation.
    """

    driest_humidity: float = 0.2
    moistest_humidity: float = 0.9


def _never_on_a_bench() -> Assumptions:
    """Return assumptions of which only a bench check, or the file, knows the instruments' part."""
    return Assumptions(u_airspeed_mps=math.nan, u_altitude_m=math.nan)


@dataclass(frozen=True, kw_only=True)
class ReductionSettings:
    """Everything that decides how a flight is reduced."""

    legs: LegSettings = field(default_factory=LegSettings)
    runs: RunSettings = field(default_factory=RunSettings)
    manoeuvres: ManoeuvreSettings = field(default_factory=ManoeuvreSettings)
    airspeeds: AirspeedSettings = field(default_factory=AirspeedSettings)
    uncertainty: Assumptions = field(default_factory=_never_on_a_bench)
    probe: Probe = field(default_factory=Probe)
    air: AirOfTheDay = field(default_factory=AirOfTheDay)
    climbs: ClimbSettings = field(default_factory=ClimbSettings)

    def temperature_taken(self, kind: str, stated: StatedAir) -> TemperatureTaken:
        """Return what a temperature is taken to be; see `air_taken.temperature_taken`."""
        u_factor = self.uncertainty.u_recovery_factor
        return temperature_taken(kind, stated, self.probe.recovery_factor, u_factor)

    def humidity_taken(
        self, readings: Readings, logged: LoggedHumidity, stated: StatedAir, where: str
    ) -> tuple[Array, HumidityTaken]:
        """Return the humidity of readings; see `air_taken.humidity_taken`."""
        supposed = humidity_unknown(self.air.driest_humidity, self.air.moistest_humidity)
        u_known = self.uncertainty.u_humidity
        return humidity_taken(
            readings, logged, stated, supposed=supposed, u_known=u_known, where=where
        )


def read_settings(path: Path | None) -> ReductionSettings:
    """Read a settings file; what it leaves out keeps its default.

    Args:
        path: TOML with tables ``legs``, ``runs``, ``manoeuvres``, ``airspeeds``, ``uncertainty``,
            ``probe``, ``air`` and ``climbs``.

    Raises:
        DataError: If the file is missing or not TOML, or a key is unknown or not a number of at
            least zero.
    """
    settings = ReductionSettings()
    if path is None:
        return settings
    try:
        document = toml_of(text_of(path))
    except OSError as error:
        raise DataError(f"{path.name}: {error.strerror}", "check the path") from error
    except ValueError as error:  # no TOML, or no UTF-8
        raise MalformedFileError(f"{path.name}: {error}", "correct the file there") from error
    for table, values in document.items():
        if table not in settings_document(settings) or not isinstance(values, dict):
            raise MalformedFileError(
                f"{path.name}: unknown table {table!r}",
                f"the tables are {', '.join(settings_document(settings))}",
            )
        changed = _override(getattr(settings, table), values, f"{path.name}: {table}")
        settings = replace(settings, **{table: changed})
    if settings.air.driest_humidity > settings.air.moistest_humidity:
        raise MalformedFileError(
            f"{path.name}: air: driest_humidity_pct is above moistest_humidity_pct",
            "swap them",
        )
    return settings


def settings_document(settings: ReductionSettings) -> dict[str, dict[str, Any]]:
    """Return the settings in the trade's units, as the TOML file holds them.

    Returns:
        Table to key to value; what is not set is left out.
    """
    document: dict[str, dict[str, Any]] = {}
    for section in fields(settings):
        values = {}
        for entry in fields(getattr(settings, section.name)):
            key, unit = _key(entry.name)
            value = getattr(getattr(settings, section.name), entry.name)
            if entry.name not in _OF_THE_FLIGHT and value is not None and not math.isnan(value):
                values[key] = value if isinstance(value, int) else round(value / unit, 9)
        document[section.name] = values
    return document


def kept_settings(document: Mapping[str, Any]) -> ReductionSettings:
    """Return the settings that a sortie was stored with.

    Args:
        document: As `settings_document` writes it, with other things beside it.

    Returns:
        What an older version did not know has its default; what this one does not know any more is
        left out.

    Raises:
        MalformedFileError: If a value is none that a setting can have.
    """
    settings = ReductionSettings()
    for section in fields(settings):
        begun = getattr(settings, section.name)
        known = {_key(entry.name)[0] for entry in fields(begun)}
        values = {k: v for k, v in document.get(section.name, {}).items() if k in known}
        changed = _override(begun, values, f"stored settings: {section.name}")
        settings = replace(settings, **{section.name: changed})
    return settings


def settings_toml(settings: ReductionSettings) -> str:
    """Return the text of a settings file, every setting explained."""
    return explained_toml(settings_document(settings), settings_document(ReductionSettings()))


def _key(name: str) -> tuple[str, float]:
    for ending, (other, unit) in _ENDINGS.items():
        if name.endswith(ending):
            return name.removesuffix(ending) + other, unit
    return name, 1.0


def _override(section: Any, values: dict[str, Any], where: str) -> Any:
    settable = [entry.name for entry in fields(section) if entry.name not in _OF_THE_FLIGHT]
    known = {_key(name)[0]: (name, _key(name)[1]) for name in settable}
    changed: dict[str, Any] = {}
    for key, value in values.items():
        if key not in known:
            raise MalformedFileError(f"{where}: unknown key {key!r}", f"known: {', '.join(known)}")
        name, unit = known[key]
        integer = isinstance(getattr(section, name), int)
        _check(value, integer, name, f"{where}: {key} = {value!r}")
        changed[name] = int(value) if integer else float(value) * unit
    return replace(section, **changed)


def _check(value: Any, integer: bool, name: str, what: str) -> None:
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0 <= value < 1e9:
        raise MalformedFileError(f"{what} is not a number of at least zero", "write a number")
    if integer and value != int(value):
        raise MalformedFileError(f"{what} is not a whole number", "write a whole number")
    if value == 0 and name in _ABOVE_ZERO:
        raise MalformedFileError(f"{what} is not above zero", "write a number above zero")
    if name == "fewest_legs" and value < _FEWEST_LEGS:
        raise MalformedFileError(
            f"{what} is too few", f"wind and airspeed need {_FEWEST_LEGS} tracks at least"
        )
    if name == "recovery_factor" and value > 1:
        raise MalformedFileError(f"{what} is above 1", "write a share, such as 0.8")
    if name.endswith("humidity") and value > 100:
        raise MalformedFileError(f"{what} is above 100 %", "write a relative humidity in percent")
