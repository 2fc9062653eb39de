"""Which airspeed of a recording to believe, and what it makes of the readings.

A log may hold indicated airspeed, impact pressure, true airspeed or several of
them. Where they contradict each other, two that agree outvote the third; a
contradiction that nothing decides is refused, because a wrong column solves
with a perfectly good residual.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations
from typing import Final

import numpy as np

from fleetcal.airdata.atmosphere import (
    GAS_CONSTANT_JPKGK,
    Array,
    altitude_from_pressure,
    pressure_from_altitude,
)
from fleetcal.airdata.pitot_static import airspeed_from_impact_pressure, calibrated_from_true
from fleetcal.airdata.reading import Readings
from fleetcal.errors import ImplausibleError, OutOfRangeError, warned_of
from fleetcal.flightlog import Recording
from fleetcal.services.flights.air_taken import (
    NOTHING_STATED,
    AirTaken,
    HumidityTaken,
    LoggedHumidity,
    StatedAir,
)
from fleetcal.services.flights.airspeed_checks import (
    WORDS,
    clash_words,
    dead_sources,
    ground_words,
    named,
)
from fleetcal.services.flights.settings_file import ReductionSettings
from fleetcal.services.flights.swapped_speeds import swapped_words
from fleetcal.services.flights.temperature_checks import temperature_doubt
from fleetcal.units import MPS_PER_KT

SOURCES: Final = ("indicated_airspeed", "impact_pressure", "true_airspeed")
_AGREE: Final = 0.06  # half of what a swap of knots and miles an hour makes
_SLOW_MPS: Final = 35.0 * MPS_PER_KT


@dataclass(frozen=True, kw_only=True)
class AirReadings:
    """Readings of a recording, sample by sample.

    Attributes:
        airspeed_mps, altitude_m, temperature_k (n,): Vic, Hic and the probe's temperature.
        relative_humidity (n,): Of the air, 1 at saturation.
        taken: What temperature and humidity are taken to be.
        airspeed_from: One of `SOURCES`.
        steps: Smallest step of airspeed, altitude, temperature, ground speed and track, SI; 0 if
            not rounded.
        doubt: Why no point is to be accepted; empty if nothing speaks against it.
    """

    airspeed_mps: Array
    altitude_m: Array
    temperature_k: Array
    relative_humidity: Array
    taken: AirTaken
    airspeed_from: str
    steps: dict[str, float]
    warnings: tuple[str, ...]
    doubt: str = ""


def air_readings(
    recording: Recording,
    settings: ReductionSettings,
    stated: StatedAir = NOTHING_STATED,
    named_airspeed: str | None = None,
) -> AirReadings:
    """Return the readings that a reduction rests on.

    Args:
        settings: For a temperature that nobody says more of, and a humidity that nobody noted.
        stated: What is said of temperature and humidity outside the file.
        named_airspeed: One of `SOURCES`, to settle the choice by hand.

    Raises:
        ImplausibleError: If the airspeeds of the file contradict each other and nothing decides,
            the wanted one is not there, a reading lies outside any flight, the temperature is in
            another unit, or airspeed and ground speed are swapped.
    """
    try:
        altitude, altitude_step = _altitude(recording)
        display = settings.temperature_taken(recording.temperature_kind, stated)
        temperature = recording.channels["temperature"]
        speeds = _airspeeds(recording, altitude, temperature, display.recovery_factor)
    except OutOfRangeError as error:
        raise ImplausibleError(
            f"{recording.source_name}: {error.message}",
            "a column or its unit was mistaken, or a sensor was dead",
        ) from error
    speeds, dead = _living(recording, speeds, named_airspeed)
    unit = temperature_doubt(recording, speeds, altitude)
    known = [*dead, f"{recording.source_name}: {unit.words}"] if unit.words else dead
    with warned_of(known):
        chosen, warnings = _choose(recording, speeds, named_airspeed)
    warnings += _unswapped(recording, chosen, speeds[chosen])
    with np.errstate(invalid="ignore"):
        warnings += ground_words(recording, chosen, speeds[chosen], altitude, temperature)
    felt = Readings(
        airspeed_mps=speeds[chosen],
        altitude_m=altitude,
        temperature_k=temperature,
        recovery_factor=np.asarray(display.recovery_factor),
    )
    humidity, moist = _humidity(recording, felt, settings, stated)
    return AirReadings(
        airspeed_mps=speeds[chosen],
        altitude_m=altitude,
        temperature_k=temperature,
        relative_humidity=humidity,
        taken=AirTaken(display, moist, recording.noted),
        airspeed_from=chosen,
        steps=_steps(recording, chosen, speeds[chosen], altitude_step),
        warnings=(*known, *warnings),
        doubt=unit.words if unit.grave else "",
    )


def _humidity(
    recording: Recording, felt: Readings, settings: ReductionSettings, stated: StatedAir
) -> tuple[Array, HumidityTaken]:
    channels = recording.channels
    logged = LoggedHumidity(channels.get("relative_humidity"), channels.get("dew_point"))
    return settings.humidity_taken(felt, logged, stated, recording.source_name)


def _steps(
    recording: Recording, chosen: str, airspeed_mps: Array, altitude_step: float
) -> dict[str, float]:
    names = ("temperature", "ground_speed", "track")
    return {
        "airspeed": _airspeed_step(recording, chosen, airspeed_mps),
        "altitude": altitude_step,
        **{name: recording.resolution.get(name, 0.0) for name in names},
    }


def _unswapped(recording: Recording, chosen: str, airspeed_mps: Array) -> list[str]:
    """Refuse airspeed and ground speed in each other's column, or warn if they are believed."""
    words = swapped_words(recording, named(recording, chosen), airspeed_mps)
    believed = any(c.believed for c in recording.columns if c.quantity in {chosen, "ground_speed"})
    if words and not believed:
        raise ImplausibleError(
            words,
            "exchange their headings, or name the columns in a mapping file (see 'fleetcal columns "
            "--help'); 'believe = true' there takes them as they are",
        )
    return [words] if words else []


def _altitude(recording: Recording) -> tuple[Array, float]:
    channels = recording.channels
    if "pressure_altitude" in channels:
        return channels["pressure_altitude"], recording.resolution.get("pressure_altitude", 0.0)
    pressure = channels["static_pressure"]
    altitude = altitude_from_pressure(pressure)
    step = recording.resolution.get("static_pressure", 0.0)
    middle = float(np.nanmedian(pressure))
    slope = float(altitude_from_pressure(middle - 50.0) - altitude_from_pressure(middle + 50.0))
    return altitude, step * slope / 100.0


def _airspeeds(
    recording: Recording, altitude: Array, temperature: Array, recovery: float
) -> dict[str, Array]:
    channels = recording.channels
    found: dict[str, Array] = {}
    if "indicated_airspeed" in channels:
        found["indicated_airspeed"] = np.maximum(channels["indicated_airspeed"], 0.0)
    if "impact_pressure" in channels:
        impact = np.maximum(channels["impact_pressure"], 0.0)
        found["impact_pressure"] = airspeed_from_impact_pressure(impact)
    if "true_airspeed" in channels:
        true = np.maximum(channels["true_airspeed"], 0.0)
        # T = Tt - K V^2/(2 cp), the total-temperature relation solved for T
        ambient = temperature - recovery * true**2 / (7.0 * GAS_CONSTANT_JPKGK)
        found["true_airspeed"] = calibrated_from_true(
            true, pressure_from_altitude(altitude), ambient
        )
    return found


def _living(
    recording: Recording, speeds: dict[str, Array], named_airspeed: str | None
) -> tuple[dict[str, Array], list[str]]:
    """Leave out dead sensors; refuse where nothing else is left, or the dead one is wanted."""
    dead = dead_sources(recording, speeds)
    if len(dead) == len(speeds) or named_airspeed in dead:
        what = (
            dead[named_airspeed]
            if named_airspeed in dead
            else next(iter(dead.values()), "no airspeed")
        )
        raise ImplausibleError(
            f"{recording.source_name}: {what}",
            "the pitot may have been covered or the unit mistaken; another airspeed is needed",
        )
    living = {name: speed for name, speed in speeds.items() if name not in dead}
    return living, [f"{recording.source_name}: {what}; not used" for what in dead.values()]


def _choose(
    recording: Recording, speeds: dict[str, Array], named_airspeed: str | None
) -> tuple[str, list[str]]:
    ratios = {
        pair: _median_ratio(speeds[pair[0]], speeds[pair[1]]) for pair in combinations(speeds, 2)
    }
    clash = {pair: r for pair, r in ratios.items() if abs(np.log(r)) > _AGREE}
    warnings = [clash_words(recording, pair, r) for pair, r in clash.items()]
    if named_airspeed is not None:
        if named_airspeed not in speeds:
            raise ImplausibleError(
                f"{recording.source_name}: there is no {WORDS[named_airspeed]} in the file",
                f"it has {', '.join(WORDS[name] for name in speeds)}",
            )
        return named_airspeed, warnings
    votes = {name: sum(name in pair and pair not in clash for pair in ratios) for name in speeds}
    if clash and max(votes.values()) == 0:
        raise ImplausibleError(
            "; ".join(warnings),
            "look at the columns, then say which to use with --airspeed-from",
        )
    trusted = [name for name in speeds if votes[name] == max(votes.values())]
    if "indicated_airspeed" in trusted:
        return "indicated_airspeed", warnings
    return min(trusted, key=lambda name: _airspeed_step(recording, name, speeds[name])), warnings


def _median_ratio(first: Array, second: Array) -> float:
    slower = np.nan_to_num(np.minimum(first, second))  # 0 where either is missing
    fast = slower > _SLOW_MPS
    if not np.any(fast):
        fast = slower > 1.0
    return float(np.median(first[fast] / second[fast])) if np.any(fast) else 1.0


def _airspeed_step(recording: Recording, name: str, speed: Array) -> float:
    """Return the step of the logged quantity, as a step of Vic at the median speed."""
    step = recording.resolution.get(name, 0.0)
    if step <= 0.0 or name == "indicated_airspeed":
        return step
    logged = recording.channels[name]
    flying = np.nan_to_num(speed) > _SLOW_MPS
    if not np.any(flying):
        return step
    vic, raw = float(np.nanmedian(speed[flying])), float(np.nanmedian(logged[flying]))
    # Vic grows with true airspeed in proportion, with impact pressure as its square root
    return step * vic / raw * (0.5 if name == "impact_pressure" else 1.0)
