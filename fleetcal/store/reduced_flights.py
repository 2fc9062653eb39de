"""Find flights that can be reduced again, with all that they were reduced with."""

from __future__ import annotations

from sqlalchemy import select
from sqlalchemy.orm import Session

from fleetcal.store.listed import StoredFlight
from fleetcal.store.models import Airframe, CalibrationPoint, KeptLog, Sortie, SourceFile

_REDUCED = ("log", "leg_sheet")


def stored_flights(session: Session, sha256: str | None = None) -> list[StoredFlight]:
    """Return the sorties with points that were reduced from logs and sheets of legs.

    Args:
        sha256: Only those from the file with this hash.

    Returns:
        In the order stored.
    """
    has_points = select(CalibrationPoint.id).where(CalibrationPoint.sortie_id == Sortie.id)
    query = (
        select(Sortie, Airframe.tag, SourceFile, KeptLog.id)
        .join(Airframe, Airframe.id == Sortie.airframe_id)
        .join(SourceFile, SourceFile.id == Sortie.source_file_id)
        .outerjoin(KeptLog, KeptLog.source_file_id == SourceFile.id)
        .where(SourceFile.kind.in_(_REDUCED), has_points.exists())
        .order_by(Sortie.id)
    )
    if sha256 is not None:
        query = query.where(SourceFile.sha256 == sha256)
    return [
        StoredFlight(
            sortie_id=row.id,
            airframe=tag,
            file=source.name,
            sha256=source.sha256,
            flown_on=row.flown_on,
            weight_kg=row.weight_kg,
            track_reference=row.track_reference,
            settings_json=row.settings_json,
            note=row.note,
            added_at=row.added_at,
            is_kept=kept is not None,
        )
        for row, tag, source, kept in session.execute(query)
    ]
