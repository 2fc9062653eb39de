"""What came of a file that was read."""

from __future__ import annotations

from sqlalchemy import select
from sqlalchemy.orm import Session

from fleetcal.store.listed import SortieLine
from fleetcal.store.models import Airframe, Sortie, SourceFile


def sorties_of_source(session: Session, source: SourceFile) -> list[SortieLine]:
    """Return the sorties that came from a file.

    Returns:
        In the order added.
    """
    query = (
        select(Sortie.id, Airframe.tag, Sortie.flown_on, Sortie.weight_kg)
        .join(Airframe, Airframe.id == Sortie.airframe_id)
        .where(Sortie.source_file_id == source.id)
        .order_by(Sortie.id)
    )
    return [SortieLine(*row) for row in session.execute(query)]
