"""Test flights of the airframes that else fly ordinary ones: a box of four legs at each airspeed.

The port and what is wrong with the instruments are the airframe's own; the air is that of a day
as ordinary flights have it, and the pilot one who measures.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np

from fleetcal.services.flights.read_flight import Flight
from seed_demo.air import FT
from tests.airdata.simulations.conditions import GOOD_PILOT
from tests.airdata.simulations.flights import AIRSPEEDS_KT, cut_into_runs
from tests.airdata.simulations.itineraries import Itinerary
from tests.airdata.simulations.ordinary import OrdinaryAirframe, OrdinaryDay, calibrated
from tests.airdata.simulations.ordinary_air import FlightAir, draw_flight_air
from tests.airdata.simulations.ordinary_motion import Intended, fly_together, intend
from tests.airdata.simulations.plans import Plan, box_plan
from tests.airdata.simulations.point_mass import Motion
from tests.airdata.simulations.recorder import record

PLAN = box_plan(AIRSPEEDS_KT)
ABOVE_FIELD_FT = (2500.0, 4500.0)


def dedicated_flights(
    day: OrdinaryDay,
    airframes: Sequence[OrdinaryAirframe],
    rngs: Sequence[np.random.Generator],
    plan: Plan = PLAN,
) -> list[Flight]:
    """Simulate one test flight of each airframe, all flown together.

    Args:
        rngs: Numpy Generators, one an airframe.
    """
    drawn = [_Drawn.draw(day, *one, plan) for one in zip(airframes, rngs, strict=True)]
    motions = fly_together([one.intended for one in drawn], GOOD_PILOT)
    return [one.recorded(motion) for one, motion in zip(drawn, motions, strict=True)]


@dataclass(frozen=True, kw_only=True)
class _Drawn:
    """A test flight before it is flown."""

    rng: np.random.Generator
    airframe: OrdinaryAirframe
    air: FlightAir
    intended: Intended
    plan: Plan

    @classmethod
    def draw(
        cls, day: OrdinaryDay, airframe: OrdinaryAirframe, rng: np.random.Generator, plan: Plan
    ) -> _Drawn:
        field_m = float(rng.uniform(30.0, 450.0) + rng.normal(0.0, 60.0))
        first_rad, wind_from_deg = rng.uniform(0.0, 2.0 * np.pi), float(rng.uniform(0.0, 360.0))
        itinerary = Itinerary(
            airspeed_mps=plan.airspeed_mps,
            heading_rad=first_rad + plan.heading_rad,
            altitude_m=np.full_like(plan.heading_rad, field_m + rng.uniform(*ABOVE_FIELD_FT) * FT),
            field_m=field_m,
            stretches=(),
        )
        air = draw_flight_air(rng, day, itinerary, wind_from_deg)
        readings = partial(calibrated, airframe.port, airframe.errors)
        intended = intend(rng, [itinerary], [air], GOOD_PILOT, readings)
        return cls(rng=rng, airframe=airframe, air=air, intended=intended, plan=plan)

    def recorded(self, motion: Motion) -> Flight:
        """Return what the airframe's instruments make of the flight, cut into its legs."""
        log = record(
            self.rng,
            self.plan,
            motion,
            self.airframe.instruments,
            self.airframe.errors.faults(np.array([self.air.humidity])),
            port_error=self.airframe.port.error,
        )
        return cut_into_runs(log, 0, self.plan.runs)
