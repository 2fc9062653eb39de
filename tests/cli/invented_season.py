"""The flights of a few airframes over a season, as a fleet and a file of points."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

SIDE, BOOM = "fuselage side", "wing boom"
FITTED, REPROPPED, FIRST = date(2023, 1, 1), date(2024, 5, 1), date(2024, 3, 3)
_HEAD = """
[[type]]
name = "Corrie 2"
reference_weight_kg = 600.0
scaling_speed_kt = 45.0
[[type.static_source]]
name = "fuselage side"
[[type.static_source]]
name = "wing boom"
[[engine]]
name = "75 kW four"
[[propeller]]
name = "two-blade fixed"
[[propeller]]
name = "three-blade fixed"
"""


@dataclass(frozen=True, kw_only=True)
class FlownFlights:
    """A season of one airframe, a flight a week; the wing boom was fitted before it.

    Attributes:
        steps: Knots at 100 kt by which it reads slower from a flight on, numbered from 1.
        off: Knots at 100 kt by which single flights are off.
        propeller_changed: Whether it got another propeller on `REPROPPED`.
        older: Flights with the static source before, two years earlier.
    """

    tag: str
    flights: int = 14
    steps: tuple[tuple[int, float], ...] = ()
    off: tuple[tuple[int, float], ...] = ()
    propeller_changed: bool = False
    older: int = 0


def fleet_toml(seasons: tuple[FlownFlights, ...]) -> str:
    """Describe the fleet as the text of a fleet file."""
    text = _HEAD
    for one in seasons:
        text += (
            f'[[airframe]]\ntag = "{one.tag}"\ntype = "Corrie 2"\nregistration = "X-{one.tag}"\n'
        )
        text += _fit(date(2015, 4, 1), SIDE, "two-blade fixed")
        text += _fit(FITTED, BOOM, "two-blade fixed")
        if one.propeller_changed:
            text += _fit(REPROPPED, BOOM, "three-blade fixed")
    return text


def _fit(day: date, source: str, propeller: str) -> str:
    return (
        f'[[airframe.fit]]\nfrom = {day}\nstatic_source = "{source}"\n'
        f'engine = "75 kW four"\npropeller = "{propeller}"\n'
    )


def points_csv(seasons: tuple[FlownFlights, ...], seed: int = 5) -> str:
    """Draw the points of the flights; the static source before was off by 6 kt."""
    rng = np.random.default_rng(seed)
    lines = [
        "airframe,flown_on,sortie,weight_kg,vic_kt,pressure_altitude_ft,kappa,u_kappa,u_shared_kappa"
    ]
    for one in seasons:
        for flight in range(1 - one.older, one.flights + 1):
            day = FIRST + timedelta(days=7 * flight - (700 if flight < 1 else 0))
            speed = np.sort(rng.uniform(60.0, 130.0, rng.integers(3, 7)))
            at_100_kt = sum(kt for first, kt in one.steps if flight >= first)
            at_100_kt += sum(kt for number, kt in one.off if flight == number)
            at_100_kt += (6.0 if flight < 1 else 0.0) + 0.25 * rng.standard_normal()
            own_kt = 0.3 * rng.standard_normal(len(speed))
            kappa = 0.03 + 0.06 * ((45.0 / speed) ** 2 - 0.25)
            kappa += 0.02 * at_100_kt + 2.0 * own_kt / speed
            lines += [
                f"{one.tag},{day},{flight},600,{v:.2f},3000,{k:.6f},{0.7 / v:.6f},0.002"
                for v, k in zip(speed, kappa, strict=True)
            ]
    return "\n".join(lines) + "\n"
