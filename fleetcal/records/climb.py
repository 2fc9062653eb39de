"""A measured climb or glide."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from fleetcal.records.column import column


@dataclass(frozen=True, kw_only=True, slots=True)
class Climb:
    """One climb or glide; rates are positive upwards."""

    number: Annotated[int, column("within its sortie", above=0)]
    kind: Annotated[str, column("which of the two", words=("climb", "glide"))]
    power_state: Annotated[str, column("a tag such as full power, idle or stopped")]
    flap_setting: Annotated[str, column("as the flaps stood")]
    weight_kg: Annotated[float, column("as flown", above=0, usual=(100, 1e4))]
    vic_kt: Annotated[
        float, column("IAS, the indicator's own error taken out", above=0, usual=(20, 300))
    ]
    pressure_altitude_ft: Annotated[float, column("as indicated", usual=(-2000, 40000))]
    oat_degc: Annotated[float, column("ambient temperature", above=-273.15, usual=(-70, 60))]
    indicated_rate_ftmin: Annotated[float, column("of the altimeter")]
    rate_ftmin: Annotated[
        float,
        column("real height, unaccelerated, in standard air, as heavy", usual=(-6000, 6000)),
    ]
    u_own_ftmin: Annotated[
        float, column("standard uncertainty of its own", above=0, usual=(0.5, 2000))
    ]
    u_shared_ftmin: Annotated[float, column("what the sortie shares, with its sign")]
    #: 0 if there is none or it is not known.
    thrust_rate_ftmin: Annotated[
        float, column("thrust power over weight in standard air", lowest=0)
    ]
    ways: Annotated[int, column("2 if flown on opposite headings", words=(1, 2))]
    accepted: Annotated[bool, column("whether it may count")] = True
    reason: Annotated[str, column("why it does not", blank=True)] = ""
