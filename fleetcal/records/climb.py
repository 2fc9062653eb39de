"""A measured climb or glide."""

from __future__ import annotations

from dataclasses import dataclass, field

from fleetcal.records.column import column


@dataclass(frozen=True, kw_only=True, slots=True)
class Climb:
    """One climb or glide; rates in ft/min, positive upwards."""

    number: int = field(metadata=column("", "within its sortie", above=0.0))
    kind: str = field(metadata=column("", "which of the two", words=("climb", "glide")))
    power_state: str = field(metadata=column("", "a tag such as full power, idle or stopped"))
    flap_setting: str = field(metadata=column("", "as the flaps stood"))
    weight_kg: float = field(metadata=column("kg", "as flown", above=0.0))
    vic_kt: float = field(
        metadata=column("kt", "IAS, the indicator's own error taken out", above=0.0)
    )
    pressure_altitude_ft: float = field(metadata=column("ft", "as indicated"))
    oat_degc: float = field(metadata=column("degC", "ambient temperature", above=-273.15))
    indicated_rate_ftmin: float = field(metadata=column("ft/min", "of the altimeter"))
    rate_ftmin: float = field(
        metadata=column("ft/min", "real height, unaccelerated, in standard air, as heavy as flown")
    )
    u_own_ftmin: float = field(
        metadata=column("ft/min", "standard uncertainty of its own", above=0.0)
    )
    u_shared_ftmin: float = field(
        metadata=column("ft/min", "standard uncertainty that the sortie shares, with its sign")
    )
    thrust_rate_ftmin: float = field(
        metadata=column(
            "ft/min", "thrust power over weight in standard air; 0 if none or unknown", lowest=0.0
        )
    )
    ways: int = field(metadata=column("", "2 if flown on opposite headings", words=(1, 2)))
    accepted: bool = field(default=True, metadata=column("", "whether it may count"))
    reason: str = field(default="", metadata=column("", "why it does not", blank=True))
