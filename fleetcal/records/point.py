"""A calibration point: one measured position error at one airspeed."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated, Final

from fleetcal.records.budget_term import BudgetTerm
from fleetcal.records.column import column

GPS_LEGS: Final = "gps legs"
GPS_MANOEUVRE: Final = "gps manoeuvre"
ORDINARY_FLIGHT: Final = "ordinary flight"
#: What points are measured by.
TECHNIQUES: Final = (
    GPS_LEGS,
    GPS_MANOEUVRE,
    ORDINARY_FLIGHT,
    "speed course",
    "pace aircraft",
    "tower fly-by",
    "trailing static",
    "earlier result",
)
#: What kappa can be at all: a port feels Cp of the dynamic pressure, and kappa is Cp/(1 - Cp).
#: At 1.5 it would feel 0.6 of it, next to the stagnation point; at -0.6 it would be sucked at by
#: 1.5 of it. Either way the airspeed is wrong by a factor of 1.58. Printed calibrations of
#: certified types reach 0.63 (four-seat trainer, model 172S, information manual, section 5,
#: figure 5-1: 40 kt indicated, 51 calibrated), and a slip of knots or metres a second and
#: kilometres an hour begins at 2.4 and -0.71. Closer than that a large number alone refutes
#: nothing: what contradicts it does.
LEAST_KAPPA: Final = -0.6
LARGEST_KAPPA: Final = 1.5
#: What is printed of ports that exist, and a little more: the airspeed wrong by a quarter to 28 %.
USUAL_KAPPA: Final = (-0.45, 0.65)
#: From what no technique reaches, 0.02 % of the airspeed (0.3 % is good with a trailing
#: source), to what says nothing any more.
USUAL_U_KAPPA: Final = (5e-4, 0.5)


def kappa_can_be(kappa: float) -> bool:
    """Tell whether a static port can have a kappa at all; NaN is none."""
    return LEAST_KAPPA <= kappa <= LARGEST_KAPPA


@dataclass(frozen=True, kw_only=True, slots=True)
class Point:
    """One point; empty is what its technique does not give."""

    number: Annotated[int, column("of its run within the sortie", above=0)]
    technique: Annotated[str, column("what it was measured by", listed=True)]
    flap_setting: Annotated[str, column("as the flaps stood", listed=True)] = "up"
    #: Where turns are in it, times the load factor: turning loads the wing like more weight.
    weight_kg: Annotated[
        float,
        column("as flown", above=0, believed=(10, 1e5), usual=(100, 1e4), listed=True, decimals=0),
    ]
    #: IAS, the indicator's own error taken out.
    vic_kt: Annotated[
        float,
        column("airspeed", above=0, believed=(0, 590), usual=(20, 300), listed=True, decimals=1),
    ]
    pressure_altitude_ft: Annotated[
        float, column("as indicated", believed=(-6500, 65000), usual=(-2000, 40000))
    ]
    oat_degc: Annotated[
        float | None,
        column("as displayed", above=-273.15, believed=(-100, 100), usual=(-70, 60)),
    ] = None
    tas_kt: Annotated[
        float | None, column("true airspeed", above=0, believed=(0, 1000), usual=(20, 450))
    ] = None
    #: Static-pressure error over impact pressure.
    kappa: Annotated[
        float,
        # of -1 no pressure is left, in mathematics
        column(
            "error coefficient",
            above=-1.0,
            believed=(LEAST_KAPPA, LARGEST_KAPPA),
            usual=USUAL_KAPPA,
            listed=True,
            decimals=4,
            sign=True,
        ),
    ]
    u_kappa: Annotated[
        float,
        column(
            "its uncertainty",
            above=0,
            believed=(1e-12, 10),
            usual=USUAL_U_KAPPA,
            listed=True,
            decimals=4,
        ),
    ]
    #: Corrections are added to the reading.
    dvpc_kt: Annotated[float, column("correction of airspeed", listed=True, decimals=2, sign=True)]
    u_dvpc_kt: Annotated[float, column("its uncertainty", above=0, listed=True, decimals=2)]
    dhpc_ft: Annotated[float, column("correction of altitude")]
    u_dhpc_ft: Annotated[float, column("its uncertainty", above=0)]
    wind_speed_kt: Annotated[
        float | None, column("wind", lowest=0, believed=(0, 500), usual=(0, 120))
    ] = None
    wind_from_deg: Annotated[float | None, column("its direction", lowest=0, highest=360)] = None
    leg_count: Annotated[int | None, column("legs of its run", above=0, believed=(1, 1000))] = None
    largest_gap_deg: Annotated[
        float | None, column("largest gap between tracks", lowest=0, highest=360)
    ] = None
    #: Root of the mean square a spare leg, or of each half minute without legs.
    residual_kt: Annotated[float | None, column("how far they disagree", lowest=0)] = None
    duration_s: Annotated[float | None, column("how long it took", lowest=0)] = None
    degrees_of_freedom: Annotated[
        float | None,
        column("of u_kappa; empty if without limit", above=0, believed=(0.1, math.inf)),
    ] = None
    accepted: Annotated[bool, column("whether it may count", listed=True)] = True
    reason: Annotated[str, column("why it does not", blank=True, listed=True)] = ""
    terms: tuple[BudgetTerm, ...] = ()
