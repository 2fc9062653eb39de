"""From the samples of a recording to rates in standard air with their uncertainty."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import numpy.typing as npt

from fleetcal.airdata.atmosphere import GRAVITY_MPS2, standard_temperature
from fleetcal.airdata.humidity import virtual_temperature
from fleetcal.airdata.performance.path_coefficient import THRUST_POWER_GROWTH
from fleetcal.airdata.performance.vertical_speed import (
    rate_in_standard_air,
    tapeline_rate,
    unaccelerated_rate,
)
from fleetcal.airdata.reading import Readings
from fleetcal.airdata.temperature import ambient_temperature
from fleetcal.flightlog.climbs import ClimbPair, ClimbSpan, line_through
from fleetcal.records import Climb
from fleetcal.services.flights.cut_legs import Recorded
from fleetcal.services.flights.flight_weight import FlightWeight
from fleetcal.units import MPS_PER_FTMIN, from_si

Places = npt.NDArray[np.intp]

#: Scatter of one rate flown both ways in smooth air, and how many pairs that guess counts for:
#: common practice, no published source.
SUPPOSED_SCATTER_MPS: Final = 15.0 * MPS_PER_FTMIN
SUPPOSED_PAIRS: Final = 2.0
_FEWEST_SAMPLES: Final = 8


@dataclass(frozen=True, kw_only=True)
class ClimbCircumstances:
    """What the log does not say of its climbs.

    Attributes:
        thrust_power_w: Shaft power times propeller efficiency in the air of the day, in the middle
            of the airspeeds flown; 0 for a glide.
        power_exponent: As `rate_in_standard_air`.
        gradient_per_s: Standard uncertainty of the wind's change with height along the track, for
            climbs flown one way; None accepts none of them.
        propeller_pitch: ``fixed``, ``constant speed`` or empty.
    """

    power_state: str
    flap_setting: str
    thrust_power_w: float = 0.0
    power_exponent: float = 0.5
    u_temperature_k: float = 1.0
    gradient_per_s: float | None = None
    propeller_pitch: str = ""


@dataclass(frozen=True, kw_only=True)
class OneWay:
    """One climb or glide through its block, SI.

    `virtual_k` is the temperature at which dry air would be as light as the air was, and
    `moister_k` how much it would be more, were the air moister by its standard uncertainty.
    """

    airspeed_mps: float
    altitude_m: float
    temperature_k: float
    virtual_k: float
    moister_k: float
    tas_mps: float
    indicated_mps: float
    acceleration_mps2: float
    weight_kg: float

    def in_standard_air(self, around: ClimbCircumstances, warmer_k: float = 0.0) -> float:
        """Return the rate brought to standard air, if it was so much warmer.

        Real height and true airspeed go by the density of the air, so the virtual
        temperature stands for it.
        """
        temperature = self.virtual_k + warmer_k
        rate = unaccelerated_rate(
            tapeline_rate(self.indicated_mps, self.altitude_m, temperature),
            self.tas_mps,
            self.acceleration_mps2,
        )
        thrust = around.thrust_power_w / (self.weight_kg * GRAVITY_MPS2)
        standard = standard_temperature(self.altitude_m)
        return float(
            rate_in_standard_air(rate, temperature, standard, thrust, around.power_exponent)
        )


def measured_climbs(
    recorded: Recorded,
    climbs: list[ClimbSpan],
    pairs: list[ClimbPair],
    weight: FlightWeight,
    around: ClimbCircumstances,
) -> list[Climb]:
    """Return what the climbs or glides of one kind measure.

    Args:
        recorded: With its bench corrections.

    Returns:
        One a pair; those flown one way are not accepted. How far both ways disagree, over all
        pairs, is the scatter of each; it holds some of the wind's change with height and errs to
        the safe side.
    """
    flown = [[_one_way(recorded, climbs[i], pair, weight) for i in pair.members] for pair in pairs]
    middle_mps = float(np.median([way.tas_mps for ways in flown for way in ways]))
    thrusts = [_with_thrust_at(around, ways, middle_mps) for ways in flown]
    rates = [
        [way.in_standard_air(thrust) for way in ways]
        for ways, thrust in zip(flown, thrusts, strict=True)
    ]
    u_own = _scatter([r for r in rates if len(r) == 2])
    return [
        _new_climb(number, pair, ways, u_own, thrust)
        for number, (pair, ways, thrust) in enumerate(zip(pairs, flown, thrusts, strict=True), 1)
    ]


def _with_thrust_at(
    around: ClimbCircumstances, ways: list[OneWay], middle_mps: float
) -> ClimbCircumstances:
    """Return the circumstances with the thrust power at the airspeed of one climb."""
    tas = float(np.mean([way.tas_mps for way in ways]))
    growth = THRUST_POWER_GROWTH[around.propeller_pitch]
    power = around.thrust_power_w * (tas / middle_mps) ** growth
    return replace(around, thrust_power_w=power)


def _scatter(rates: list[list[float]]) -> float:
    """Return the standard uncertainty of the mean of both ways."""
    squares = sum((r[0] - r[1]) ** 2 / 4.0 for r in rates)
    supposed = SUPPOSED_PAIRS * SUPPOSED_SCATTER_MPS**2
    return float(np.sqrt((squares + supposed) / (len(rates) + SUPPOSED_PAIRS)))


def _new_climb(
    number: int, pair: ClimbPair, ways: list[OneWay], u_own: float, around: ClimbCircumstances
) -> Climb:
    def mean(values: list[float]) -> float:
        return float(np.mean(values))

    rate = mean([w.in_standard_air(around) for w in ways])
    warm = mean([w.in_standard_air(around, around.u_temperature_k) for w in ways]) - rate
    moist = mean([w.in_standard_air(around, w.moister_k) for w in ways]) - rate
    weight, altitude = mean([w.weight_kg for w in ways]), mean([w.altitude_m for w in ways])
    temperature = mean([w.temperature_k for w in ways])
    standard = float(standard_temperature(altitude))
    power = (mean([w.virtual_k for w in ways]) / standard) ** around.power_exponent
    thrust = around.thrust_power_w / (weight * GRAVITY_MPS2) * power
    accepted = pair.refusal is None or around.gradient_per_s is not None
    # a headwind that grows with height is energy; on the same heading all have the same share
    one_way = 0.0 if pair.refusal is None else around.gradient_per_s or 0.0
    gradient = one_way * abs(rate) * mean([w.tas_mps for w in ways]) / GRAVITY_MPS2
    return Climb(
        number=number,
        kind="climb" if rate > 0.0 else "glide",
        power_state=around.power_state,
        flap_setting=around.flap_setting,
        weight_kg=weight,
        vic_kt=float(from_si(mean([w.airspeed_mps for w in ways]), "kt")),
        pressure_altitude_ft=float(from_si(altitude, "ft")),
        oat_degc=float(from_si(temperature, "degC")),
        indicated_rate_ftmin=mean([w.indicated_mps for w in ways]) / MPS_PER_FTMIN,
        rate_ftmin=rate / MPS_PER_FTMIN,
        u_own_ftmin=u_own * float(np.sqrt(2.0 / len(ways))) / MPS_PER_FTMIN,
        u_shared_ftmin=float(np.sqrt(warm**2 + moist**2 + gradient**2)) / MPS_PER_FTMIN,
        thrust_rate_ftmin=thrust / MPS_PER_FTMIN,
        ways=len(ways),
        accepted=accepted,
        reason="" if accepted else pair.refusal or "",
    )


def _one_way(recorded: Recorded, climb: ClimbSpan, pair: ClimbPair, weight: FlightWeight) -> OneWay:
    rows = _inside(recorded, climb, pair)
    t, speed, altitude = (
        column[rows] for column in (recorded.t_s, recorded.airspeed_mps, recorded.altitude_m)
    )
    probe = recorded.temperature_k[rows]
    humidity = recorded.relative_humidity[rows]
    readings = Readings(
        airspeed_mps=speed,
        altitude_m=altitude,
        temperature_k=probe,
        recovery_factor=np.asarray(recorded.recovery_factor),
        relative_humidity=humidity,
    )
    static, impact = readings.pressures()
    tas, _ = readings.true_airspeed(0.0)
    ratio = np.maximum(impact / static, 0.0)
    mach = np.sqrt(5.0 * np.expm1(np.log1p(ratio) / 3.5))
    ambient = ambient_temperature(probe, mach, recorded.recovery_factor)
    virtual = virtual_temperature(ambient, static, humidity)
    moister = virtual_temperature(ambient, static, humidity + recorded.taken.humidity.u) - virtual
    known = np.isfinite(tas)
    carried = weight.at(float(np.mean(t)))
    return OneWay(
        airspeed_mps=float(np.mean(speed)),
        altitude_m=float(np.mean(altitude)),
        temperature_k=float(np.nanmean(ambient)),
        virtual_k=float(np.nanmean(virtual)),
        moister_k=float(np.nanmean(moister)),
        tas_mps=float(np.nanmean(tas)),
        indicated_mps=line_through(t, altitude)[0],
        acceleration_mps2=line_through(t[known], tas[known])[0],
        weight_kg=carried,
    )


def _inside(recorded: Recorded, climb: ClimbSpan, pair: ClimbPair) -> Places:
    """Return which samples lie within the block that both ways flew, by the fitted line."""
    rows = np.arange(climb.start, climb.stop)
    columns = (recorded.airspeed_mps, recorded.altitude_m, recorded.temperature_k)
    rows = rows[np.all([np.isfinite(c[rows]) for c in columns], axis=0)]
    middle = 0.5 * (climb.low_m + climb.high_m)
    line = middle + climb.rate_mps * (recorded.t_s[rows] - 0.5 * (climb.t_start_s + climb.t_stop_s))
    inside = rows[(line >= pair.low_m - 1.0) & (line <= pair.high_m + 1.0)]
    return inside if len(inside) >= _FEWEST_SAMPLES else rows
