"""A calibration point: one measured position error at one airspeed."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final

from fleetcal.records.budget_term import BudgetTerm
from fleetcal.records.column import column

GPS_LEGS: Final = "gps legs"
GPS_MANOEUVRE: Final = "gps manoeuvre"
#: What points are measured by.
TECHNIQUES: Final = (
    GPS_LEGS,
    GPS_MANOEUVRE,
    "speed course",
    "pace aircraft",
    "tower fly-by",
    "trailing static",
    "earlier result",
)
#: Largest believable |kappa|: beyond it the airspeed would be wrong by more than
#: about a fifth, which no static port does but a wrong unit or column does
#: (common practice, no published source).
LARGEST_KAPPA: Final = 0.5


@dataclass(frozen=True, kw_only=True, slots=True)
class Point:
    """One point; empty is what its technique does not give."""

    number: int = field(metadata=column("", "of its run within the sortie", above=0.0))
    technique: str = field(metadata=column("", "what it was measured by", listed=True))
    flap_setting: str = field(default="up", metadata=column("", "as the flaps stood", listed=True))
    weight_kg: float = field(
        metadata=column(
            "kg", "as flown; in a turn, times the load factor", above=0.0, listed=True, decimals=0
        )
    )
    vic_kt: float = field(
        metadata=column(
            "kt",
            "IAS, the indicator's own error taken out",
            above=0.0,
            believed=(0.0, 590.0),
            listed=True,
            decimals=1,
        )
    )
    pressure_altitude_ft: float = field(
        metadata=column("ft", "as indicated", believed=(-6500.0, 65000.0))
    )
    oat_degc: float | None = field(
        default=None,
        metadata=column(
            "degC", "temperature as displayed", above=-273.15, believed=(-100.0, 100.0)
        ),
    )
    tas_kt: float | None = field(default=None, metadata=column("kt", "true airspeed", above=0.0))
    kappa: float = field(
        metadata=column(
            "",
            "static-pressure error over impact pressure",
            believed=(-LARGEST_KAPPA, LARGEST_KAPPA),
            listed=True,
            decimals=4,
            sign=True,
        )
    )
    u_kappa: float = field(
        metadata=column("", "its standard uncertainty", above=0.0, listed=True, decimals=4)
    )
    dvpc_kt: float = field(
        metadata=column(
            "kt", "correction added to the airspeed", listed=True, decimals=2, sign=True
        )
    )
    u_dvpc_kt: float = field(
        metadata=column("kt", "its standard uncertainty", above=0.0, listed=True, decimals=2)
    )
    dhpc_ft: float = field(metadata=column("ft", "correction added to the altitude"))
    u_dhpc_ft: float = field(metadata=column("ft", "its standard uncertainty", above=0.0))
    wind_speed_kt: float | None = field(
        default=None, metadata=column("kt", "wind", lowest=0.0, believed=(0.0, 500.0))
    )
    wind_from_deg: float | None = field(
        default=None,
        metadata=column("deg", "where it comes from", lowest=0.0, highest=360.0),
    )
    leg_count: int | None = field(default=None, metadata=column("", "legs of its run", above=0.0))
    largest_gap_deg: float | None = field(
        default=None,
        metadata=column("deg", "largest gap between tracks", lowest=0.0, highest=360.0),
    )
    residual_kt: float | None = field(
        default=None,
        metadata=column("kt", "how far spare legs, or samples, disagree", lowest=0.0),
    )
    duration_s: float | None = field(
        default=None, metadata=column("s", "how long it took", lowest=0.0)
    )
    degrees_of_freedom: float | None = field(
        default=None, metadata=column("", "of u_kappa; empty if without limit", above=0.0)
    )
    accepted: bool = field(default=True, metadata=column("", "whether it may count", listed=True))
    reason: str = field(default="", metadata=column("", "why it does not", blank=True, listed=True))
    terms: tuple[BudgetTerm, ...] = ()
