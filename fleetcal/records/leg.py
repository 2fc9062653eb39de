"""A steady leg: means over its samples."""

from __future__ import annotations

from dataclasses import dataclass, field

from fleetcal.records.column import column


@dataclass(frozen=True, kw_only=True, slots=True)
class Leg:
    """One leg. One that was written by hand may lack its times, samples and scatter."""

    run_number: int = field(metadata=column("", "of its run within the flight", above=0.0))
    leg_number: int = field(metadata=column("", "within the run", above=0.0))
    vic_kt: float = field(
        metadata=column("kt", "IAS, the indicator's own error taken out", above=0.0)
    )
    pressure_altitude_ft: float = field(metadata=column("ft", "as indicated"))
    oat_degc: float | None = field(
        default=None, metadata=column("degC", "temperature as displayed", above=-273.15)
    )
    start_s: float | None = field(
        default=None, metadata=column("s", "its begin, from the first sample of the log")
    )
    stop_s: float | None = field(
        default=None, metadata=column("s", "its end, from the first sample of the log")
    )
    samples: int | None = field(default=None, metadata=column("", "how many", above=0.0))
    ground_east_kt: float | None = field(
        default=None, metadata=column("kt", "ground vector, eastward")
    )
    ground_north_kt: float | None = field(
        default=None, metadata=column("kt", "ground vector, northward")
    )
    track_deg: float | None = field(
        default=None, metadata=column("deg", "track", lowest=0.0, highest=360.0)
    )
    residual_kt: float | None = field(
        default=None,
        metadata=column("kt", "airspeed by ground vector and wind, less airspeed by the reading"),
    )
    u_kt: float | None = field(
        default=None, metadata=column("kt", "standard uncertainty of the means", above=0.0)
    )
    recovery_factor: float | None = field(
        default=None,
        metadata=column(
            "",
            "of the thermometer, as true airspeed was worked out",
            lowest=0.0,
            highest=1.0,
            since=3,
        ),
    )
    humidity_pct: float | None = field(
        default=None,
        metadata=column(
            "%",
            "relative humidity, as true airspeed was worked out; dry air if empty",
            lowest=0.0,
            highest=100.0,
            since=3,
        ),
    )
