"""Read the legs of many sorties at once."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from fleetcal.store.models import Airframe, Leg, Sortie


@dataclass(frozen=True, kw_only=True)
class LegRow:
    """One steady leg; speeds in knots, angles in degrees, None where nothing was measured."""

    run_number: int
    leg_number: int
    start_s: float | None
    stop_s: float | None
    samples: int | None
    vic_kt: float
    pressure_altitude_ft: float
    oat_degc: float | None
    ground_east_kt: float | None
    ground_north_kt: float | None
    track_deg: float | None
    residual_kt: float | None
    u_kt: float | None
    recovery_factor: float | None
    humidity_pct: float | None


_NAMES = list(LegRow.__dataclass_fields__)


def select_legs(session: Session, airframe: str | None = None) -> dict[int, list[LegRow]]:
    """Return the legs of every sortie, or of one airframe's.

    Args:
        airframe: Tag.

    Returns:
        By number of the sortie; legs by run and number. One query.
    """
    query = select(Leg.sortie_id, *(getattr(Leg, name) for name in _NAMES))
    if airframe is not None:
        query = (
            query.join(Sortie, Sortie.id == Leg.sortie_id)
            .join(Airframe, Airframe.id == Sortie.airframe_id)
            .where(Airframe.tag == airframe)
        )
    legs: dict[int, list[LegRow]] = {}
    for sortie_id, *values in session.execute(
        query.order_by(Leg.sortie_id, Leg.run_number, Leg.leg_number)
    ):
        legs.setdefault(sortie_id, []).append(LegRow(**dict(zip(_NAMES, values, strict=True))))
    return legs
