"""Read the legs of many sorties at once."""

from __future__ import annotations

from sqlalchemy import select
from sqlalchemy.orm import Session

from fleetcal.records import Leg, names_of
from fleetcal.store import models
from fleetcal.store.models import Airframe, Sortie


def select_legs(session: Session, airframe: str | None = None) -> dict[int, list[Leg]]:
    """Return the legs of every sortie, or of one airframe's.

    Args:
        airframe: Tag.

    Returns:
        By number of the sortie; legs by run and number. One query.
    """
    names = names_of(Leg)
    query = select(models.Leg.sortie_id, *(getattr(models.Leg, name) for name in names))
    if airframe is not None:
        query = (
            query.join(Sortie, Sortie.id == models.Leg.sortie_id)
            .join(Airframe, Airframe.id == Sortie.airframe_id)
            .where(Airframe.tag == airframe)
        )
    legs: dict[int, list[Leg]] = {}
    for sortie_id, *values in session.execute(
        query.order_by(models.Leg.sortie_id, models.Leg.run_number, models.Leg.leg_number)
    ):
        legs.setdefault(sortie_id, []).append(Leg(**dict(zip(names, values, strict=True))))
    return legs
