"""Flights of different lengths, each with a plan of its own, flown together by the point mass."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields
from typing import Literal

import numpy as np

from seed_demo.air import Array
from tests.airdata.simulations.air import DrawnAir
from tests.airdata.simulations.column import Column
from tests.airdata.simulations.itineraries import Itinerary
from tests.airdata.simulations.ordinary_air import FlightAir
from tests.airdata.simulations.plans import Plan
from tests.airdata.simulations.point_mass import Meant, Motion, Pilot, fly_meant

_More = Literal["edge", "constant"]


@dataclass(frozen=True, kw_only=True)
class Intended:
    """The flights of one airframe before they are flown.

    The shorter ones go on straight and level, without gusts.
    """

    plan: Plan
    meant: Meant
    air: DrawnAir
    column: Column


def intend(
    rng: np.random.Generator,
    itineraries: Sequence[Itinerary],
    airs: Sequence[FlightAir],
    pilot: Pilot,
    calibrated: Callable[[Array], Array],
) -> Intended:
    """Draw how the pilot wanders about what is meant.

    Args:
        rng: Numpy Generator.
        calibrated: From what the pilot wants to read to the airspeed of a port without error.
    """
    longest = max(one.altitude_m.size for one in itineraries)

    def together(lines: Sequence[Array]) -> Array:
        return np.stack([_lengthened(line, longest) for line in lines])

    nowhere = np.full(longest, -1)
    plan = Plan(
        airspeed_mps=calibrated(together([one.airspeed_mps for one in itineraries])),
        heading_rad=together([one.heading_rad for one in itineraries]),
        altitude_m=together([one.altitude_m for one in itineraries]),
        run=nowhere,
        leg=nowhere,
    )
    column = _columns([one.column for one in airs])
    air = DrawnAir(
        wind=together([one.wind for one in airs]).swapaxes(0, 1),
        shear=together([one.shear for one in airs]).swapaxes(0, 1),
        met=np.stack([_lengthened(one.met, longest, "constant") for one in airs], axis=1),
    )
    meant = Meant.draw(rng, plan, pilot, len(airs), column)
    return Intended(plan=plan, meant=meant, air=air, column=column)


def fly_together(airframes: Sequence[Intended], pilot: Pilot) -> list[Motion]:
    """Fly the flights of several airframes at once, which is quicker; one motion an airframe."""
    lengths = [one.plan.heading_rad.shape[1] for one in airframes]
    flights = [one.plan.heading_rad.shape[0] for one in airframes]
    longest = max(lengths)

    def together(arrays: Sequence[Array], axis: int, more: _More = "edge") -> Array:
        return np.concatenate([_lengthened(one, longest, more) for one in arrays], axis=axis)

    meant = Meant(
        **{
            field.name: together(
                [getattr(one.meant, field.name) for one in airframes],
                0,
                "constant" if field.name in {"turn_rate", "climb"} else "edge",
            )
            for field in fields(Meant)
        }
    )
    air = DrawnAir(
        wind=together([one.air.wind for one in airframes], 1),
        shear=together([one.air.shear for one in airframes], 1),
        met=together([one.air.met for one in airframes], 1, "constant"),
    )
    column = Column(
        **{
            field.name: np.concatenate([getattr(one.column, field.name) for one in airframes])
            for field in fields(Column)
        }
    )
    motion = fly_meant(meant, air, pilot, column)
    begins = np.cumsum([0, *flights])
    return [
        Motion(
            **{
                field.name: getattr(motion, field.name)[begin : begin + count, :length]
                for field in fields(Motion)
            }
        )
        for begin, count, length in zip(begins, flights, lengths, strict=False)
    ]


def _lengthened(array: Array, samples: int, more: _More = "edge") -> Array:
    """Return an array with its last values, or else zeros, after its end."""
    by = samples - array.shape[-1]
    return np.pad(array, [(0, 0)] * (array.ndim - 1) + [(0, by)], mode=more)


def _columns(columns: Sequence[Column]) -> Column:
    return Column(
        **{
            field.name: np.array([[float(getattr(one, field.name))] for one in columns])
            for field in fields(Column)
        }
    )
