"""What temperature and humidity were taken to be, in plain words, and what else they would do."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np

from fleetcal.airdata.position_error import airspeed_correction
from fleetcal.airdata.reading import Readings
from fleetcal.services.flights.air_taken import (
    AIRFRAME,
    HEADING,
    NOBODY,
    OPTION,
    SETTINGS,
    USUAL_FACTOR,
    AirTaken,
    HumidityTaken,
)
from fleetcal.services.flights.run_lines import RunLine
from fleetcal.units import from_si, to_si
from fleetcal.wording import decimal

_FORMER_FACTOR: Final = 0.8
_TO_95: Final = 1.96
_FROM: Final = {
    HEADING: "by its heading",
    OPTION: "as given for this flight",
    SETTINGS: "by the settings",
    AIRFRAME: "as it stands with the airframe",
}


@dataclass(frozen=True, kw_only=True)
class FlownAt:
    """A measured point, in the trade's units, as far as the air changes it."""

    vic_kt: float
    pressure_altitude_ft: float
    oat_degc: float
    kappa: float
    dvpc_kt: float


Flown = RunLine | FlownAt


def air_notes(taken: AirTaken, runs: Sequence[Flown], airframe: str | None) -> tuple[str, ...]:
    """Return what temperature and humidity were taken to be, and what other ones would do.

    Args:
        runs: At least one; what it would do is told for the run of middle speed.
        airframe: Tag, to say where its display can be told; None in a preview, which asks no store.
    """
    run = sorted(runs, key=lambda line: line.vic_kt)[(len(runs) - 1) // 2]
    return (
        *noted_words(taken),
        _temperature_note(taken, run, airframe),
        _humidity_note(taken, run),
    )


def noted_words(taken: AirTaken) -> tuple[str, ...]:
    """Say that the temperature was noted and not logged; nothing where it was logged."""
    noted = taken.noted
    if noted is None:
        return ()
    degrees, feet = from_si(noted.temperature_k, "degC"), from_si(noted.altitude_m, "ft")
    return (
        f"The temperature is the one noted, {degrees:.0f} °C at {feet:.0f} ft, and counts as known "
        f"to ±{_TO_95 * noted.u_k:.0f} °C; a logged one would narrow the answer.",
    )


def _temperature_note(taken: AirTaken, run: Flown, airframe: str | None) -> str:
    temperature, source = taken.temperature, taken.temperature.source
    if temperature.recovery_factor == 0.0:
        other = _would_be(taken, run, factor=USUAL_FACTOR)
        return (
            f"Temperature taken as outside temperature, {_FROM[source]}; if it is what a probe "
            f"feels (recovery factor {USUAL_FACTOR:g}), {other}."
        )
    other = f"if your display shows outside temperature already, {_would_be(taken, run, factor=0)}."
    if source != NOBODY:
        return (
            "Temperature taken as what a probe feels, recovery factor "
            f"{temperature.recovery_factor:.2f} (u {temperature.u:.2f}), {_FROM[source]}; {other}"
        )
    either = "the temperature display shows outside temperature or what its probe feels"
    factor = f"a recovery factor of {temperature.recovery_factor:.2f} is taken"
    taken_so = f"{factor} (u {temperature.u:.2f}); {other}"
    if airframe is None:
        return (
            f"A preview does not look up whether {either}: {taken_so} "
            "State it with '--temperature-shows ambient' or '--temperature-shows probe'."
        )
    return (
        f"It is not known whether {either}: {taken_so} State it once: 'fleetcal fleet temperature "
        f"{airframe} --shows ambient' or '--shows probe'."
    )


def air_doubts(taken: AirTaken, runs: Sequence[Flown], airframe: str | None) -> tuple[str, ...]:
    """Return in one short sentence what a word on the temperature display would settle.

    Args:
        runs: At least one; what it would do is told for the run of middle speed.
        airframe: Tag; None where no store is asked.
    """
    noted = noted_words(taken)
    if taken.temperature.source != NOBODY or taken.temperature.recovery_factor == 0.0:
        return noted
    run = sorted(runs, key=lambda line: line.vic_kt)[(len(runs) - 1) // 2]
    words = "'--temperature-shows ambient' or '--temperature-shows probe'"
    if airframe is not None:
        words = f"'fleetcal fleet temperature {airframe} --shows ambient' or '--shows probe'"
    return (
        *noted,
        "Does your temperature display show the outside air, or its probe as the airflow warms it? "
        f"Say which with {words}; if it is the outside air, {_would_be(taken, run, factor=0)}.",
    )


def _humidity_note(taken: AirTaken, run: Flown) -> str:
    return f"{_humidity_taken(taken.humidity)}; in dry air {_would_be(taken, run, humidity=0.0)}."


def _humidity_taken(humidity: HumidityTaken) -> str:
    share, u = 100.0 * humidity.relative_humidity, 100.0 * humidity.u
    how = {
        NOBODY: f"Humidity was not recorded: {share:.0f} % relative humidity is taken",
        OPTION: f"Humidity taken as given, {share:.0f} % relative humidity",
        HEADING: f"Humidity by its column, {share:.0f} % relative humidity on the mean",
    }[humidity.source]
    return f"{how} (u {u:.0f} %)"


def _would_be(
    taken: AirTaken, run: Flown, factor: float | None = None, humidity: float | None = None
) -> str:
    """Say how much the correction of a run would be another one."""
    readings = Readings(
        airspeed_mps=np.asarray(to_si(run.vic_kt, "kt")),
        altitude_m=np.asarray(to_si(run.pressure_altitude_ft, "ft")),
        temperature_k=np.asarray(to_si(run.oat_degc, "degC")),
        recovery_factor=np.asarray(taken.temperature.recovery_factor),
        relative_humidity=np.asarray(taken.humidity.relative_humidity),
    )
    other = replace(
        readings,
        recovery_factor=readings.recovery_factor if factor is None else np.asarray(factor),
        relative_humidity=readings.relative_humidity if humidity is None else np.asarray(humidity),
    )
    now, (then, slope) = readings.true_airspeed(run.kappa)[0], other.true_airspeed(run.kappa)
    kappa = run.kappa + float((now - then) / slope)
    moved = from_si(float(airspeed_correction(readings.airspeed_mps, kappa)), "kt") - run.dvpc_kt
    size = "larger" if moved > 0.0 else "smaller"
    return f"the correction at {run.vic_kt:.0f} kt would be {abs(moved):.2f} kt {size}"


def air_in_short(taken: AirTaken) -> tuple[str, ...]:
    """Return what temperature and humidity were taken to be, without what others would do."""
    warmth, moisture = taken.temperature, taken.humidity
    what = (
        "outside temperature"
        if warmth.recovery_factor == 0.0
        else f"what a probe of recovery factor {warmth.recovery_factor:.2f} feels"
    )
    known = _FROM.get(warmth.source, "since it is not known what it shows")
    return (
        *noted_words(taken),
        f"Temperature taken as {what}, {known}.",
        f"{_humidity_taken(moisture)}.",
    )


def air_moved(before: Mapping[str, Any], after: Mapping[str, Any]) -> tuple[str, ...]:
    """Return what a flight's temperature and humidity were taken to be before and are now.

    Args:
        before, after: What was stored with the flight, and what would be now.

    Returns:
        Only what differs.
    """
    kinds = (_temperature_words, _offset_words, _noted_words, _humidity_words)
    pairs = [(words(before), words(after)) for words in kinds]
    return tuple(f"{then} before, {now} now" for then, now in pairs if then != now)


def _temperature_words(document: Mapping[str, Any]) -> str:
    temperature = document.get("temperature")
    if temperature is None:  # as it was before anybody could say it
        factor = document.get("probe", {}).get("recovery_factor", _FORMER_FACTOR)
        return f"recovery factor {factor:.2f}"
    if temperature["recovery_factor"] == 0.0:
        return "outside temperature"
    return f"recovery factor {temperature['recovery_factor']:.2f}"


def _offset_words(document: Mapping[str, Any]) -> str:
    taken = document.get("temperature", {}).get("taken_off_k", 0.0)
    return f"thermometer corrected by {decimal(-taken)} degC"


def _noted_words(document: Mapping[str, Any]) -> str:
    noted = document.get("temperature", {}).get("noted_degc")
    return "a logged temperature" if noted is None else f"{noted:.0f} degC noted"


def _humidity_words(document: Mapping[str, Any]) -> str:
    humidity = document.get("humidity")
    return "dry air" if humidity is None else f"{humidity['humidity_pct']:.0f} % relative humidity"
