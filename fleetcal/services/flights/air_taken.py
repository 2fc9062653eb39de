"""What a flight's temperature and humidity are taken to be, and how surely.

A temperature display shows either the outside temperature, or what its probe feels:
then part of the ram rise is in it, by the probe's recovery factor. Nobody but the owner
of the airframe knows which. Where nothing is known the recovery factor may be anything
from 0 to 1 (JCGM 100:2008, 4.3.7: the middle, with half the range over the root of 3),
and all airframes with the same display may err alike.

Air is moist. Where nobody noted its humidity, it may be anything in a range, and the
middle of it is taken, with the same uncertainty: to suppose dry air would be to correct
for nothing where the sign of the effect is known (JCGM 100:2008, 3.2.3 and 4.3.7).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from fleetcal.airdata.atmosphere import Array, pressure_from_altitude
from fleetcal.airdata.budget import Assumptions
from fleetcal.airdata.humidity import humidity_from_dew_point
from fleetcal.airdata.pitot_static import impact_pressure_from_airspeed
from fleetcal.airdata.reading import Readings
from fleetcal.errors import ImplausibleError
from fleetcal.flightlog.noted import Noted, NotedTemperature
from fleetcal.units import from_si, to_si

if TYPE_CHECKING:
    from fleetcal.store import Airframe

#: What a temperature display shows.
AMBIENT, PROBE = "ambient", "probe"
#: Where it is known from.
HEADING, OPTION, SETTINGS, AIRFRAME, NOBODY = "heading", "option", "settings", "airframe", "nobody"
#: Recovery factor of a usual probe without a shield: common practice, no published source.
USUAL_FACTOR: Final = 0.8
#: Standard uncertainty of a recovery factor that was stated: common practice, no published source.
U_STATED_FACTOR: Final = 0.05
#: Anything from 0 to 1.
UNKNOWN_FACTOR: Final = 0.5
U_UNKNOWN_FACTOR: Final = float(0.5 / np.sqrt(3.0))
#: A median relative humidity above this is no error of sensors in cloud.
MOST_SATURATED: Final = 1.1
_BY_HEADING: Final = {"static": 0.0, "total": 1.0}


@dataclass(frozen=True)
class Thermometer:
    """What the temperature display of an airframe shows.

    Attributes:
        shows: ``ambient`` or ``probe``.
        recovery_factor: Of the probe, where it is known.
    """

    shows: str
    recovery_factor: float | None = None


@dataclass(frozen=True, kw_only=True)
class StatedAir:
    """What was said of temperature and humidity outside the file of a flight.

    Attributes:
        given: For this flight.
        of_airframe: As it stands with the airframe.
        relative_humidity: 1 at saturation.
        temperature_k: That the display showed at the height flown, for a file without any.
        setting_pa: Of the altimeter, for a file of altitudes that are not pressure altitudes.
    """

    given: Thermometer | None = None
    of_airframe: Thermometer | None = None
    relative_humidity: float | None = None
    dew_point_k: float | None = None
    temperature_k: float | None = None
    setting_pa: float | None = None

    @property
    def noted(self) -> Noted:
        """What may stand in for a column."""
        return Noted(self.temperature_k, self.setting_pa)

    def on(self, airframe: Airframe) -> StatedAir:
        """Return the same with what stands with the airframe."""
        shows = airframe.temperature_shows
        known = None if shows is None else Thermometer(shows, airframe.recovery_factor)
        return replace(self, of_airframe=known)

    def document(self) -> dict[str, Any]:
        """Return what was said of the flight itself, ready for JSON."""
        given = {
            "temperature_shows": self.given.shows if self.given else None,
            "recovery_factor": self.given.recovery_factor if self.given else None,
            "humidity_pct": _rounded(self.relative_humidity, "%"),
            "dew_point_degc": _rounded(self.dew_point_k, "degC"),
            "oat_degc": _rounded(self.temperature_k, "degC"),
            "altimeter_setting": _rounded(self.setting_pa, "hPa"),
        }
        return {name: value for name, value in given.items() if value is not None}


def stated_air(
    temperature_shows: str | None = None,
    recovery_factor: float | None = None,
    humidity_pct: float | None = None,
    dew_point_degc: float | None = None,
    oat_degc: float | None = None,
    altimeter_setting: float | None = None,
) -> StatedAir:
    """Return what is said of a flight's temperature and humidity, in the trade's units.

    Args:
        temperature_shows: ``ambient`` or ``probe``.
        recovery_factor: Of a probe, 0 to 1.
        humidity_pct, dew_point_degc: At most one of them.
        altimeter_setting: hPa.
    """
    shows = temperature_shows or (PROBE if recovery_factor is not None else None)
    return StatedAir(
        given=None if shows is None else Thermometer(shows, recovery_factor),
        relative_humidity=None if humidity_pct is None else to_si(humidity_pct, "%"),
        dew_point_k=None if dew_point_degc is None else to_si(dew_point_degc, "degC"),
        temperature_k=None if oat_degc is None else to_si(oat_degc, "degC"),
        setting_pa=None if altimeter_setting is None else to_si(altimeter_setting, "hPa"),
    )


def _rounded(value: float | None, unit: str) -> float | None:
    return None if value is None else round(from_si(value, unit), 9)


NOTHING_STATED: Final = StatedAir()


@dataclass(frozen=True)
class LoggedHumidity:
    """What a file says of the humidity: None where it has no such column; K, 1 at saturation."""

    relative_humidity: Array | None = None
    dew_point_k: Array | None = None


@dataclass(frozen=True, kw_only=True)
class OffsetTaken:
    """What a thermometer reads too warm, K, by the two heights of its flight.

    Attributes:
        found_k, u_found_k: By the heights alone, and its standard uncertainty.
        correction_k, u_k: What was taken off the readings, and what is left uncertain after it:
            with what is supposed of any thermometer.
        wander_k: How far it was found to wander about it within the flight.
        range_m: Of pressure altitude that was flown through.
    """

    found_k: float
    u_found_k: float
    correction_k: float
    u_k: float
    wander_k: float
    range_m: float

    def document(self) -> dict[str, float]:
        """Return what is kept with the sortie, ready for JSON."""
        return {
            "reads_too_warm_k": round(self.found_k, 6),
            "u_reads_too_warm_k": round(self.u_found_k, 6),
            "taken_off_k": round(self.correction_k, 6),
            "u_temperature_k": round(self.u_k, 6),
        }


@dataclass(frozen=True)
class TemperatureTaken:
    """The recovery factor of a flight, its standard uncertainty, and where it is from.

    Attributes:
        offset: None where no heights say anything of it.
    """

    recovery_factor: float
    u: float
    source: str
    offset: OffsetTaken | None = None


@dataclass(frozen=True)
class HumidityTaken:
    """The mean relative humidity in flight, its standard uncertainty, and where it is from.

    `source` is ``heading`` for a column of the file, ``option``, or ``nobody``.
    """

    relative_humidity: float
    u: float
    source: str


@dataclass(frozen=True)
class AirTaken:
    """What the temperature and the humidity of one flight are taken to be.

    Attributes:
        noted: What the temperatures are made from where none are logged.
    """

    temperature: TemperatureTaken
    humidity: HumidityTaken
    noted: NotedTemperature | None = None

    def assumptions(self, assumed: Assumptions) -> Assumptions:
        """Return assumptions with the uncertainties of this flight's air."""
        offset, noted = self.temperature.offset, self.noted
        u = assumed.u_temperature_k if offset is None else offset.u_k
        return replace(
            assumed,
            u_temperature_k=u if noted is None else float(np.hypot(u, noted.u_k)),
            u_recovery_factor=self.temperature.u,
            recovery_owner="fleet" if self.temperature.source == NOBODY else "airframe",
            u_humidity=self.humidity.u,
        )

    def document(self) -> dict[str, Any]:
        """Return what is kept with the sortie, ready for JSON."""
        return {
            "temperature": {
                "recovery_factor": round(self.temperature.recovery_factor, 9),
                "u_recovery_factor": round(self.temperature.u, 9),
                "from": self.temperature.source,
                **(self.temperature.offset.document() if self.temperature.offset else {}),
                **_noted_document(self.noted),
            },
            "humidity": {
                "humidity_pct": round(100.0 * self.humidity.relative_humidity, 6),
                "u_humidity_pct": round(100.0 * self.humidity.u, 6),
                "from": self.humidity.source,
            },
        }


def _noted_document(noted: NotedTemperature | None) -> dict[str, float]:
    if noted is None:
        return {}
    return {
        "noted_degc": round(from_si(noted.temperature_k, "degC"), 6),
        "noted_at_ft": round(from_si(noted.altitude_m, "ft"), 3),
        "u_noted_k": round(noted.u_k, 6),
    }


def temperature_taken(
    kind: str, stated: StatedAir, settings_factor: float | None, u_factor: float
) -> TemperatureTaken:
    """Return what a temperature is taken to be.

    Args:
        kind: What the file says: static, total or probe; probe leaves it open.
        settings_factor: Recovery factor of the settings.
        u_factor: Its standard uncertainty, and that of a probe of which no more is known.

    Returns:
        By what is said of the flight, else the heading, the settings, the airframe.
    """
    if stated.given is not None:
        return _shown(stated.given, OPTION, u_factor)
    if kind in _BY_HEADING:
        factor = _BY_HEADING[kind]
        return TemperatureTaken(factor, u_factor if factor else 0.0, HEADING)
    if settings_factor is not None:
        return TemperatureTaken(settings_factor, u_factor if settings_factor else 0.0, SETTINGS)
    if stated.of_airframe is not None:
        return _shown(stated.of_airframe, AIRFRAME, u_factor)
    return TemperatureTaken(UNKNOWN_FACTOR, U_UNKNOWN_FACTOR, NOBODY)


def _shown(display: Thermometer, source: str, u_factor: float) -> TemperatureTaken:
    if display.shows == AMBIENT:
        return TemperatureTaken(0.0, 0.0, source)
    if display.recovery_factor is None:
        return TemperatureTaken(USUAL_FACTOR, u_factor, source)
    return TemperatureTaken(display.recovery_factor, U_STATED_FACTOR, source)


def humidity_taken(
    readings: Readings,
    logged: LoggedHumidity,
    stated: StatedAir,
    supposed: HumidityTaken,
    u_known: float,
    where: str,
) -> tuple[Array, HumidityTaken]:
    """Return the relative humidity of every reading, and how it is known.

    Args:
        readings: Of the whole flight, with their recovery factor; NaN where missing.
        logged: By the file.
        supposed: Where nobody noted it; see `humidity_unknown`.
        u_known: Standard uncertainty of a humidity that was recorded or given.
        where: Name of the file, for messages.

    Returns:
        What was said of the flight goes before the file. A reading without a value has the median
        of the others; what is above saturation counts as saturated.

    Raises:
        ImplausibleError: If a dew point lies far above the temperature.
    """
    shape = np.shape(readings.temperature_k)
    source = OPTION
    dew_point: float | Array | None = stated.dew_point_k
    share = stated.relative_humidity
    values = None if share is None else np.full(shape, share)
    if values is None and dew_point is None:
        source, values, dew_point = HEADING, logged.relative_humidity, logged.dew_point_k
    if values is None and dew_point is not None:
        values = humidity_from_dew_point(_ambient(readings), dew_point)
        _refuse_dew_above(values, where)
    if values is None or not np.any(np.isfinite(values)):
        return np.full(shape, supposed.relative_humidity), supposed
    values = np.clip(np.where(np.isfinite(values), values, np.nanmedian(values)), 0.0, 1.0)
    fast = readings.airspeed_mps > 0.5 * np.nanmax(readings.airspeed_mps)  # not on the ground
    return values, HumidityTaken(float(np.mean(values[fast])), u_known, source)


def _ambient(readings: Readings) -> Array:
    """Return the ambient temperature, to the accuracy of the airspeed without its correction."""
    ratio = impact_pressure_from_airspeed(readings.airspeed_mps) / pressure_from_altitude(
        readings.altitude_m
    )
    return readings.temperature_k / (1.0 + readings.recovery_factor * ratio * 2.0 / 7.0)


def _refuse_dew_above(relative_humidity: Array, where: str) -> None:
    if float(np.nanmedian(relative_humidity)) > MOST_SATURATED:
        raise ImplausibleError(
            f"{where}: the dew point lies above the temperature of the air",
            "check both columns and their units, or leave the dew point out",
        )


def humidity_unknown(driest: float, moistest: float) -> HumidityTaken:
    """Return the humidity of a day of which nobody noted it.

    Args:
        driest, moistest: Relative humidity that fair weather has between, 1 at saturation.
    """
    middle = 0.5 * (driest + moistest)
    return HumidityTaken(middle, float((moistest - driest) / np.sqrt(12.0)), NOBODY)
