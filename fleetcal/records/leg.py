"""A steady leg: means over its samples."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from fleetcal.records.column import column


@dataclass(frozen=True, kw_only=True, slots=True)
class Leg:
    """One leg. One that was written by hand may lack its times, samples and scatter."""

    run_number: Annotated[int, column("of its run within the flight", above=0)]
    leg_number: Annotated[int, column("within the run", above=0)]
    vic_kt: Annotated[float, column("IAS, the indicator's own error taken out", above=0)]
    pressure_altitude_ft: Annotated[float, column("as indicated")]
    oat_degc: Annotated[float | None, column("as displayed", above=-273.15)] = None
    #: Seconds from the first sample of the log.
    start_s: Annotated[float | None, column("its begin")] = None
    stop_s: Annotated[float | None, column("its end")] = None
    samples: Annotated[int | None, column("how many", above=0)] = None
    ground_east_kt: Annotated[float | None, column("ground vector, eastward")] = None
    ground_north_kt: Annotated[float | None, column("ground vector, northward")] = None
    track_deg: Annotated[float | None, column("track", lowest=0, highest=360)] = None
    #: Airspeed by ground vector and wind, less airspeed by the reading.
    residual_kt: Annotated[float | None, column("what is left of the solve")] = None
    u_kt: Annotated[float | None, column("standard uncertainty of the means", above=0)] = None
    #: Both as true airspeed was worked out; without a humidity the air was taken as dry.
    recovery_factor: Annotated[
        float | None, column("of the thermometer", lowest=0, highest=1, since=3)
    ] = None
    humidity_pct: Annotated[
        float | None, column("relative humidity", lowest=0, highest=100, since=3)
    ] = None
