"""What is true of the invented fleet: the error curve of each port, pairing and airframe.

The quantity is kappa, the static-pressure error as a part of the impact pressure
that the indicator feels. It depends on s = (scaling speed / indicated airspeed at
reference weight)^2, which is proportional to the lift coefficient. All numbers are
invented.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from seed_demo.air import KT, Array, dial_impact_pressure, dial_speed

SCALING_SPEED_KT: Final = 45.0
REFERENCE_WEIGHT_KG: Final = 600.0
MIDDLE_S: Final = 0.25
LEVEL_SD: Final = 0.012
TILT_SD: Final = 0.02
# Slower than this in s nothing was imagined: the curve stays at its last value.
LARGEST_S: Final = 1.0

TAIL_BOOM: Final = "tail-boom flush pair"
MID_FUSELAGE: Final = "mid-fuselage raised disc pair"
WING_BOOM: Final = "wing boom"
SMALL_ENGINE: Final = "75 kW four"
LARGE_ENGINE: Final = "100 kW turbo four"
FIXED: Final = "two-blade fixed"
ADJUSTABLE: Final = "three-blade ground-adjustable"
CONSTANT_SPEED: Final = "three-blade constant-speed"


@dataclass(frozen=True)
class ErrorCurve:
    """A quadratic of kappa in s, `level + tilt*(s - MIDDLE_S) + bow*(s - MIDDLE_S)^2`."""

    level: float
    tilt: float
    bow: float = 0.0

    def __add__(self, other: ErrorCurve) -> ErrorCurve:
        """Return the curve that is the sum of two."""
        return ErrorCurve(self.level + other.level, self.tilt + other.tilt, self.bow + other.bow)

    def kappa(self, s: Array) -> Array:
        """Return kappa (no unit) at s (no unit), any shape."""
        offset = np.minimum(s, LARGEST_S) - MIDDLE_S
        return self.level + self.tilt * offset + self.bow * offset**2

    def kappa_at(self, indicated_mps: Array, weight_kg: Array) -> Array:
        """Return kappa at an indicated airspeed (m/s) and a weight (kg)."""
        slowest = SCALING_SPEED_KT * KT / 10.0
        ratio = SCALING_SPEED_KT * KT / np.maximum(indicated_mps, slowest)
        return self.kappa(ratio**2 * weight_kg / REFERENCE_WEIGHT_KG)

    def correction_kt(self, ias_kt: float, weight_kg: float = REFERENCE_WEIGHT_KG) -> float:
        """Return the correction CAS - IAS, to be added to the reading.

        Returns:
            kt; the same at every altitude, since both speeds are of sea level.
        """
        indicated = np.array([ias_kt * KT])
        felt = dial_impact_pressure(indicated)
        true = felt * (1.0 + self.kappa_at(indicated, np.array([weight_kg])))
        return float((dial_speed(true) - indicated)[0] / KT)


@dataclass(frozen=True, order=True)
class Group:
    """A static source with the engine and propeller flown beside it."""

    static_source: str
    engine: str
    propeller: str

    @property
    def name(self) -> str:
        """The name under which the commands know the group."""
        return f"{self.static_source} / {self.engine} / {self.propeller}"


TAIL_BOOM_GROUP: Final = Group(TAIL_BOOM, SMALL_ENGINE, FIXED)
MID_ADJUSTABLE_GROUP: Final = Group(MID_FUSELAGE, SMALL_ENGINE, ADJUSTABLE)
MID_CONSTANT_GROUP: Final = Group(MID_FUSELAGE, LARGE_ENGINE, CONSTANT_SPEED)
WING_BOOM_GROUP: Final = Group(WING_BOOM, LARGE_ENGINE, CONSTANT_SPEED)

PORT_CURVES: Final = {
    TAIL_BOOM: ErrorCurve(0.004, 0.10, 0.06),
    MID_FUSELAGE: ErrorCurve(-0.046, 0.17, 0.18),
    WING_BOOM: ErrorCurve(0.066, 0.13, 0.03),
}
PAIRING_DEPARTURES: Final = {
    TAIL_BOOM_GROUP: ErrorCurve(0.0, 0.0),
    MID_ADJUSTABLE_GROUP: ErrorCurve(0.004, -0.01),
    MID_CONSTANT_GROUP: ErrorCurve(-0.008, 0.02),
    WING_BOOM_GROUP: ErrorCurve(0.0, 0.0),
}
# A leak lets cabin air, at less than outside pressure, into the static line.
LEAK: Final = ErrorCurve(-0.13, -0.04)


def group_curve(group: Group) -> ErrorCurve:
    """Return the true mean curve of a group: the port's curve and the pairing's departure."""
    return PORT_CURVES[group.static_source] + PAIRING_DEPARTURES[group]


def drawn_departure(rng: np.random.Generator) -> ErrorCurve:
    """Draw how one airframe departs from the mean curve of its group."""
    return ErrorCurve(float(rng.normal(0.0, LEVEL_SD)), float(rng.normal(0.0, TILT_SD)))
