"""Whether a temperature column is in the unit it states: held against true airspeed and lapse.

Three witnesses are weighed for the stated unit and for the other one that the
numbers could be in: how far the column is from the standard atmosphere, how it
falls with height, and the logged true airspeed against the other airspeeds. No
one of them is sure, so their squared departures are added; each is limited, so
that one odd witness cannot decide.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from fleetcal.airdata.atmosphere import Array, standard_temperature
from fleetcal.errors import ImplausibleError
from fleetcal.flightlog import Recording
from fleetcal.flightlog.columns import ColumnChoice
from fleetcal.units import MPS_PER_KT, from_si, to_si

_COLUMNS: Final = ("static_temperature", "total_temperature", "probe_temperature")
_OTHER: Final = {"degC": "degF", "degF": "degC"}
_FLYING_MPS: Final = 35.0 * MPS_PER_KT
_FEWEST: Final = 60
# Standard deviations of sound columns (common practice, no published source): of the weather
# from the standard atmosphere, of the lapse from its usual 6 K/km, and of a true airspeed,
# computed on board, from what the log's other airspeed gives.
_WEATHER_K: Final = 12.0
_LAPSE_KPKM: Final = (6.0, 2.0)
_LAPSE_UNSURE_K: Final = 1.5  # of the fall over all of the climb: warm runway, another air mass
_LEAST_CLIMB_KM: Final = 0.3
_AIRSPEED: Final = 0.012
# the most that each can say against a unit, in half squares of standard deviations
_MOST: Final = (8.0, 3.0, 8.0)
# By how much the other unit must be the likelier, in odds e to the power of this. Of simulated
# flights in the right unit (tests/flightlog/wrong_columns.py) one or two in a hundred come to
# the least. Recorders that show Fahrenheit are few, so a heading that says so is doubted sooner.
_NAMED: Final = {"degC": 1.2, "degF": 0.4}
_NOT_ACCEPTED: Final = {"degC": 2.5, "degF": 1.5}
_REFUSED: Final = 4.0
_REFUSED_WITHOUT_AIRSPEED: Final = 6.0


@dataclass(frozen=True)
class TemperatureDoubt:
    """What speaks against the unit of the temperature column; empty `words` if nothing does.

    Attributes:
        grave: Whether points are not to be accepted.
    """

    words: str = ""
    grave: bool = False


@dataclass(frozen=True)
class _Seen:
    """What a unit makes of the column: K above standard, K lost in a km, share of airspeed."""

    above_k: float
    lapse_kpkm: float | None
    climb_km: float
    airspeed_off: float | None

    def doubt(self) -> float:
        """Return what speaks against it, in half squares of standard deviations."""
        usual, deviation = _LAPSE_KPKM
        lapse = 0.0
        if self.lapse_kpkm is not None:
            deviation = math.hypot(deviation, _LAPSE_UNSURE_K / self.climb_km)
            lapse = (self.lapse_kpkm - usual) / deviation
        off = (self.above_k / _WEATHER_K, lapse, (self.airspeed_off or 0.0) / _AIRSPEED)
        return sum(min(0.5 * part**2, most) for part, most in zip(off, _MOST, strict=True))


def temperature_doubt(
    recording: Recording, speeds: dict[str, Array], altitude_m: Array
) -> TemperatureDoubt:
    """Name the unit that the numbers of the temperature column look like, if it is another.

    Args:
        speeds (n,): Airspeeds of the log as indicated airspeed, m/s.
        altitude_m (n,): Pressure altitude.

    Raises:
        ImplausibleError: If the other unit is so much the likelier that the result would be wrong.
    """
    choice = next((c for c in recording.columns if c.quantity in _COLUMNS), None)
    if choice is None or choice.unit not in _OTHER:
        return TemperatureDoubt()
    temperature = recording.channels["temperature"]
    flying = np.isfinite(temperature) & np.isfinite(altitude_m)
    flying &= np.nan_to_num(np.max(list(speeds.values()), axis=0)) > _FLYING_MPS
    if flying.sum() < _FEWEST:
        return TemperatureDoubt()
    other = _OTHER[choice.unit]
    as_other = np.asarray(to_si(from_si(temperature, choice.unit), other))
    airspeed_off = _true_airspeed_off(speeds, flying)
    stated = _seen(temperature[flying], altitude_m[flying], airspeed_off)
    if airspeed_off is not None:  # the calibrated airspeed of a true one goes with 1/sqrt(T)
        ratio = float(np.median(temperature[flying] / as_other[flying]))
        airspeed_off += 0.5 * math.log(ratio)
    likelier = stated.doubt() - _seen(as_other[flying], altitude_m[flying], airspeed_off).doubt()
    if likelier < _NAMED[choice.unit]:
        return TemperatureDoubt()
    words = f"{_words(choice, stated)}; its numbers look like {other}"
    most = _REFUSED_WITHOUT_AIRSPEED if airspeed_off is None else _REFUSED
    if likelier < most or choice.believed:
        grave = likelier >= _NOT_ACCEPTED[choice.unit] and not choice.believed
        return TemperatureDoubt(words, grave)
    raise ImplausibleError(
        f"{recording.source_name}: {words}",
        f"correct the unit of '{choice.heading}' in a mapping file (see 'fleetcal columns --help')"
        "; 'believe = true' there takes the column as it is",
    )


def _seen(temperature_k: Array, altitude_m: Array, airspeed_off: float | None) -> _Seen:
    above = float(np.median(temperature_k - standard_temperature(altitude_m)))
    low, high = np.percentile(altitude_m, [2.0, 98.0]) / 1000.0
    climb, lapse = float(high - low), None
    if climb >= _LEAST_CLIMB_KM:
        lapse = -float(np.polyfit(altitude_m / 1000.0, temperature_k, 1)[0])
    return _Seen(above, lapse, climb, airspeed_off)


def _true_airspeed_off(speeds: dict[str, Array], flying: np.ndarray) -> float | None:
    """Return the log of the indicated airspeed by the true one over that of another column."""
    others = [name for name in ("indicated_airspeed", "impact_pressure") if name in speeds]
    if "true_airspeed" not in speeds or not others:
        return None
    first, second = speeds["true_airspeed"][flying], speeds[others[0]][flying]
    fast = np.nan_to_num(np.minimum(first, second)) > _FLYING_MPS
    if fast.sum() < _FEWEST:
        return None
    return float(np.median(np.log(first[fast] / second[fast])))


def _words(choice: ColumnChoice, seen: _Seen) -> str:
    parts = [f"{abs(seen.above_k):.0f} K {'above' if seen.above_k > 0.0 else 'below'} standard"]
    if seen.lapse_kpkm is not None:
        parts.append(f"{seen.lapse_kpkm:.1f} K colder for 1000 m of climb (standard 6.5)")
    if seen.airspeed_off is not None:
        parts.append(
            f"true airspeed {100.0 * abs(seen.airspeed_off):.1f} % off what it gives with the "
            "other airspeed"
        )
    kind = choice.quantity.replace("_", " ")
    return f"{kind} '{choice.heading}' does not look like {choice.unit}: {', '.join(parts)}"
