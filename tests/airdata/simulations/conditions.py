"""The named conditions that whole flights are simulated in."""

from __future__ import annotations

from dataclasses import dataclass

from seed_demo.gusts import Bubbles
from tests.airdata.simulations.air import Air
from tests.airdata.simulations.plans import BOX, TRIANGLE
from tests.airdata.simulations.point_mass import Pilot
from tests.airdata.simulations.recorder import Instruments

STEADY, GOOD_PILOT, QUICK_INSTRUMENTS = Air(), Pilot(), Instruments()


@dataclass(frozen=True, kw_only=True)
class Condition:
    """Air, pilot and instruments of a flight, and the headings of its legs.

    With `alternating`, every second run flies them backwards.
    """

    air: Air = STEADY
    pilot: Pilot = GOOD_PILOT
    instruments: Instruments = QUICK_INSTRUMENTS
    tracks_deg: tuple[float, ...] = BOX
    alternating: bool = False


AS_ASSUMED = Air(gust_mps=0.3, ramp_kt_in_ten_minutes=1.0, quick_kt=0.3)
MILD = Air(gust_mps=0.6, veer_deg_in_ten_minutes=4.0, slow_kt=0.7, shear_kt_per_1000ft=3.0)

#: By the name under which the table prints them.
CONDITIONS = {
    "as assumed": Condition(air=AS_ASSUMED),
    "no faults": Condition(),
    "gusts 0.6 m/s": Condition(air=Air(gust_mps=0.6)),
    "gusts 1 m/s": Condition(air=Air(gust_mps=1.0)),
    "gusts 2 m/s": Condition(air=Air(gust_mps=2.0)),
    "veer 8 deg in ten minutes, 20 kt": Condition(
        air=Air(wind_kt=20.0, veer_deg_in_ten_minutes=8.0)
    ),
    "veer 20 deg": Condition(air=Air(wind_kt=20.0, veer_deg_in_ten_minutes=20.0)),
    "veer 20 deg, order alternating": Condition(
        air=Air(wind_kt=20.0, veer_deg_in_ten_minutes=20.0), alternating=True
    ),
    "veer 40 deg": Condition(air=Air(wind_kt=20.0, veer_deg_in_ten_minutes=40.0)),
    "ramp, sd 4 kt in ten minutes": Condition(air=Air(ramp_kt_in_ten_minutes=4.0)),
    "slow wind 1 kt, memory 5 min": Condition(air=Air(slow_kt=1.0)),
    "slow wind 2 kt": Condition(air=Air(slow_kt=2.0)),
    "slow wind 3 kt": Condition(air=Air(slow_kt=3.0)),
    "three legs, no faults": Condition(tracks_deg=TRIANGLE),
    "three legs, veer 20 deg": Condition(
        air=Air(wind_kt=20.0, veer_deg_in_ten_minutes=20.0), tracks_deg=TRIANGLE
    ),
    "thermals": Condition(air=Air(gust_mps=0.4, bubbles=Bubbles())),
    "everything mild": Condition(
        air=MILD,
        pilot=Pilot(hunting_airspeed_kt=0.7, hunting_heading_deg=1.0),
        instruments=Instruments(
            line_lag_s=0.3, gps_lag_s=0.5, probe_lag_s=10.0, self_heating_k=0.5
        ),
    ),
    "hunting 4 deg, 2 kt": Condition(pilot=Pilot(hunting_airspeed_kt=2.0, hunting_heading_deg=4.0)),
    "GPS lag 1 s, line lag 0.5 s": Condition(
        instruments=Instruments(gps_lag_s=1.0, line_lag_s=0.5)
    ),
    "probe lag 60 s, self-heating 3 K": Condition(
        instruments=Instruments(probe_lag_s=60.0, self_heating_k=3.0)
    ),
}
