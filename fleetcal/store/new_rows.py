"""What one flight brings into the store, as plain values."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, kw_only=True)
class NewSortie:
    """One flight.

    Attributes:
        airframe: Its tag.
        track_reference: ``true``, ``magnetic`` or ``unknown``.
        settings_json: The settings the flight was reduced with, as JSON.
    """

    airframe: str
    flown_on: date
    weight_kg: float
    track_reference: str = "unknown"
    settings_json: str = "{}"
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class NewLeg:
    """Means over one leg: knots, feet, degrees, seconds from the first sample of the log.

    A leg written by hand may lack its times, samples and scatter. Recovery factor and
    humidity are those that its true airspeed was worked out with; without a humidity the
    air was taken as dry.
    """

    run_number: int
    leg_number: int
    vic_kt: float
    pressure_altitude_ft: float
    oat_degc: float | None = None
    start_s: float | None = None
    stop_s: float | None = None
    samples: int | None = None
    ground_east_kt: float | None = None
    ground_north_kt: float | None = None
    track_deg: float | None = None
    residual_kt: float | None = None
    u_kt: float | None = None
    recovery_factor: float | None = None
    humidity_pct: float | None = None


@dataclass(frozen=True, kw_only=True)
class NewTerm:
    """One line of a point's uncertainty budget.

    Attributes:
        name: Unlike any other of the point.
        u_kappa: Sensitivity times standard uncertainty, with the sensitivity's sign.
        owner: ``point``, ``sortie``, ``airframe`` or ``fleet``: all its points have the same
            unknown value.
        kind: ``A`` (from scatter) or ``B`` (from other knowledge), as the GUM has it.
    """

    name: str
    u_kappa: float
    owner: str
    kind: str
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class NewPoint:
    """One calibration point: knots, feet, degrees, kappa without unit, `u_x` standard uncertainty.

    What a technique does not give stays None, degrees of freedom also when they
    are without limit. A point that is not accepted needs its reason.
    """

    number: int
    technique: str
    weight_kg: float
    vic_kt: float
    pressure_altitude_ft: float
    kappa: float
    u_kappa: float
    dvpc_kt: float
    u_dvpc_kt: float
    dhpc_ft: float
    u_dhpc_ft: float
    flap_setting: str = "up"
    oat_degc: float | None = None
    tas_kt: float | None = None
    wind_speed_kt: float | None = None
    wind_from_deg: float | None = None
    leg_count: int | None = None
    largest_gap_deg: float | None = None
    residual_kt: float | None = None
    duration_s: float | None = None
    degrees_of_freedom: float | None = None
    accepted: bool = True
    reason: str = ""
    terms: tuple[NewTerm, ...] = ()
