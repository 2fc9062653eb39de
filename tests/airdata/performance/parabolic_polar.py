"""Gliding on a parabolic polar, in closed form.

CD = CD0 + CL^2/(pi e A). Source: J. T. Lowry, Performance of Light Aircraft
(AIAA, 1999), chapter 9, for steady glides without the assumption that lift
equals weight.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fleetcal.errors import OutOfRangeError


@dataclass(frozen=True)
class Polar:
    """A parabolic drag polar.

    Attributes:
        zero_lift_drag: CD0.
        efficiency: e of the induced drag.
        area_m2: Wing area that the coefficients refer to.
    """

    zero_lift_drag: float
    efficiency: float
    aspect_ratio: float
    area_m2: float

    def __post_init__(self) -> None:
        """Refuse what is no polar.

        Raises:
            OutOfRangeError: If a figure is not above zero.
        """
        for name, value in vars(self).items():
            if not value > 0.0:
                raise OutOfRangeError(f"{name} {value:g} is not above zero", "check the polar")

    @property
    def lift_factor(self) -> float:
        """Pi e A, by which the square of the lift coefficient is divided."""
        return float(np.pi * self.efficiency * self.aspect_ratio)

    @property
    def best_glide_ratio(self) -> float:
        """Largest lift over drag, 0.5 sqrt(pi e A/CD0)."""
        return float(0.5 * np.sqrt(self.lift_factor / self.zero_lift_drag))

    def best_glide(self, weight_n: float, density_kgm3: float) -> tuple[float, float]:
        """Return the flattest glide.

        Returns:
            True airspeed, m/s, and angle below the horizon, rad.
        """
        cd0, factor = self.zero_lift_drag, self.lift_factor
        angle = float(np.arcsin(np.sqrt(4.0 * cd0 / (factor + 4.0 * cd0))))
        speed = np.sqrt(2.0 * weight_n / (density_kgm3 * self.area_m2))
        return float(speed * (4.0 * cd0**2 + cd0 * factor) ** -0.25), angle

    def sink(self, tas_mps: float, weight_n: float, density_kgm3: float) -> float:
        """Return the sink with lift taken equal to weight.

        Returns:
            m/s, positive downwards.
        """
        pressure = 0.5 * density_kgm3 * tas_mps**2 * self.area_m2
        lift = weight_n / pressure
        return float(
            tas_mps * pressure * (self.zero_lift_drag + lift**2 / self.lift_factor) / weight_n
        )

    def least_sink_speed(self, weight_n: float, density_kgm3: float) -> float:
        """Return the true airspeed of least sink with lift taken equal to weight.

        Returns:
            m/s.
        """
        lift = np.sqrt(3.0 * self.zero_lift_drag * self.lift_factor)
        return float(np.sqrt(2.0 * weight_n / (density_kgm3 * self.area_m2 * lift)))
