"""How far best speeds of climb are off when the climbs were flown light, free of noise.

Engine, propeller and drag are the demonstration's, whose thrust and polar are of another
class than the curve that is fitted. What is left is the error of carrying rates to
reference weight, and of the curve's shape. Glides, where there are any, are flown at the
same weights.
"""

from __future__ import annotations

from datetime import UTC, date, datetime

import numpy as np

from fleetcal.airdata.performance.path_coefficient import (
    BEST_ANGLE,
    BEST_RATE,
    THRUST_POWER_GROWTH,
)
from fleetcal.fleet.basis import curve_basis
from fleetcal.services.curves.pooled_point import fleet_points
from fleetcal.services.performance.climb_points import climb_points
from fleetcal.services.performance.pairing_drag import drag_of_pairings
from fleetcal.store import StoredClimb, TypeDescription
from seed_demo.air import Array, standard_temperature
from seed_demo.performance_truth import (
    IDLE,
    PLANTS,
    Plant,
    best_speeds_kt,
    sine_of_path,
    standard_tas,
)
from seed_demo.truth import CONSTANT_SPEED, FIXED, REFERENCE_WEIGHT_KG

SCALING_KT, ALTITUDE_FT = 45.0, 2000.0
TYPE = TypeDescription(
    name="Corrie 2", reference_weight_kg=REFERENCE_WEIGHT_KG, scaling_speed_kt=SCALING_KT
)
CLIMB_KT = np.array([54.0, 57.0, 60.0, 64.0, 68.0, 73.0, 78.0, 84.0, 90.0])
GLIDE_KT = np.array([54.0, 58.0, 63.0, 69.0, 76.0, 84.0, 94.0])
FTMIN = 0.3048 / 60.0
PITCH = {FIXED: "fixed", CONSTANT_SPEED: "constant speed"}


def flown_rows(plant: Plant, tag: str, cas_kt: Array, weight_kg: float) -> list[StoredClimb]:
    """Return what error-free instruments find of climbs or glides at one weight."""
    tas, static, temperature = standard_tas(cas_kt, ALTITUDE_FT)
    weight = np.full_like(tas, weight_kg)
    rate = tas * sine_of_path(plant, tag, tas, weight, static, temperature) / FTMIN
    idle = tag == IDLE
    middle = float(np.median(tas))
    kw = 0.0 if idle else plant.state(tag).estimate_kw
    growth = (tas / middle) ** THRUST_POWER_GROWTH[PITCH[plant.propeller]]
    thrust = kw * 1000.0 * growth / (weight_kg * 9.80665) / FTMIN
    degc = float(standard_temperature(np.array(ALTITUDE_FT * 0.3048))) - 273.15
    return [
        StoredClimb(
            climb_id=i,
            sortie_id=1,
            airframe="C-01",
            type=TYPE.name,
            static_source="wing boom",
            engine=plant.engine,
            propeller=plant.propeller,
            propeller_pitch=PITCH[plant.propeller],
            flown_on=date(2024, 9, 14),
            source_name="",
            number=i,
            kind="glide" if idle else "climb",
            power_state=tag,
            flap_setting="up",
            weight_kg=weight_kg,
            vic_kt=float(cas_kt[i]),
            pressure_altitude_ft=ALTITUDE_FT,
            oat_degc=degc,
            indicated_rate_ftmin=float(rate[i]),
            rate_ftmin=float(rate[i]),
            u_own_ftmin=10.0,
            u_shared_ftmin=0.0,
            thrust_rate_ftmin=float(thrust[i]),
            ways=2,
            accepted=True,
            reason="",
            decided_at=datetime(2024, 9, 14, tzinfo=UTC),
        )
        for i in range(len(cas_kt))
    ]


def best_speeds(plant: Plant, tag: str, share: float, *, glides: bool) -> dict[str, float]:
    """Return the best speeds of climb, kt CAS, that climbs at a share of the weight give."""
    weight_kg = share * TYPE.reference_weight_kg
    rows = flown_rows(plant, tag, CLIMB_KT, weight_kg)
    idle = flown_rows(plant, IDLE, GLIDE_KT, weight_kg) if glides else []
    told = climb_points(TYPE, rows, CLIMB_KT, drag_of_pairings(TYPE, idle, GLIDE_KT[: len(idle)]))
    points = fleet_points(told, [0] * len(told), [0])
    weight = 1.0 / points.u_own
    basis = curve_basis(points.x, 2)
    beta = np.linalg.lstsq(basis * weight[:, None], points.y * weight, rcond=None)[0]
    lift = (SCALING_KT / np.arange(CLIMB_KT[0] - 4.0, CLIMB_KT[-1] + 4.0, 0.02)) ** 2
    y = curve_basis(lift, 2) @ beta
    return {
        name: SCALING_KT / float(np.sqrt(lift[np.argmax(y / lift**power)]))
        for name, power in (("best rate of climb", BEST_RATE), ("best angle of climb", BEST_ANGLE))
    }


def lines() -> list[str]:
    """Return the errors of the best speeds, a line for each pairing, power state and weight."""
    found = ["best speeds of climb, found less true, kt CAS, free of noise"]
    found.append(f"{'':70s}{'by thrust power':>20s}{'by glides':>18s}")
    found.append(f"{'':70s}" + f"{'rate':>10s}{'angle':>8s}" * 2)
    for plant in PLANTS:
        for state in plant.states:
            true = best_speeds_kt(plant, state.tag, ALTITUDE_FT)
            for share in (1.0, 0.93, 0.85):
                name = f"{plant.name}, {state.tag}, flown at {share:.0%}"
                for glides in (False, True):
                    told = best_speeds(plant, state.tag, share, glides=glides)
                    rate, angle = (told[k] - true[k] for k in told)
                    name += "" if glides else " " * (70 - len(name))
                    name += f"{rate:+10.2f}{angle:+8.2f}"
                found.append(name)
    return found


if __name__ == "__main__":
    print("\n".join(lines()))
