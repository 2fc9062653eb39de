"""Read what was done to the store, by whom, and what of it was taken back.

A change that was taken back stays listed, and so does the taking back. History stays in its
store and is not shared.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from fleetcal.errors import UnknownNameError
from fleetcal.store.history_standing import outcomes_of
from fleetcal.store.models import CalibrationPoint, ChangedRow, StoreChange


@dataclass(frozen=True, kw_only=True)
class HistoryLine:
    """One row that a change added, changed or removed; `undone` is empty while it stands.

    Attributes:
        name_from: Who vouches for `made_by`: ``server``, ``machine``, or nobody (``claimed``).
        table, row_id: ``store_change`` and the number of a former change where that one was taken
            back, or where a backup replaced the history up to it.
    """

    change: int
    made_at: datetime
    made_by: str
    command: str
    act: str
    table: str
    row_id: int
    airframe: str
    values: str
    undone: str
    name_from: str


def list_history(
    session: Session, airframe: str | None = None, point_id: int | None = None
) -> list[HistoryLine]:
    """Return what was done, oldest first.

    Args:
        airframe: Only what concerns this tag.
        point_id: Only what concerns this point: its flight's arrival, decisions on it, and the
            power of its run.

    Raises:
        UnknownNameError: If there is no such point.
    """
    query = select(ChangedRow, StoreChange).join(
        StoreChange, StoreChange.id == ChangedRow.store_change_id
    )
    if airframe is not None:
        query = query.where(ChangedRow.airframe == airframe)
    if point_id is not None:
        point = session.get(CalibrationPoint, point_id)
        if point is None:
            raise UnknownNameError(f"there is no point {point_id} in the store")
        own = (ChangedRow.table_name == "calibration_point") & (ChangedRow.row_id == point_id)
        flight = (ChangedRow.table_name == "sortie") & (ChangedRow.row_id == point.sortie_id)
        power = ChangedRow.id.in_(_changes_of_power(session, point_id))
        query = query.where(own | flight | power)
    taken_back = outcomes_of(session).taken_back
    return [
        HistoryLine(
            change=change.id,
            made_at=change.made_at,
            made_by=change.made_by,
            command=change.act,
            act=row.act,
            table=row.table_name,
            row_id=row.row_id,
            airframe=row.airframe,
            values=row.values_json,
            undone=taken_back.get(change.id, ""),
            name_from=change.name_from,
        )
        for row, change in session.execute(query.order_by(ChangedRow.id))
    ]


def _changes_of_power(session: Session, point_id: int) -> list[int]:
    """Return the numbers of the changed rows that were the power of a point.

    A power that was forgotten may leave its number to that of another point, so each
    row belongs to the point that was told when a row of its number was last added.
    """
    query = select(ChangedRow).where(ChangedRow.table_name == "cruise_power")
    taken_back = outcomes_of(session).taken_back
    owners: dict[int, int] = {}
    found = []
    for row in session.scalars(query.order_by(ChangedRow.id)):
        values = json.loads(row.values_json) if row.values_json and row.act != "changed" else {}
        owner = values.get("calibration_point_id", owners.get(row.row_id))
        if owner == point_id:
            found.append(row.id)
        if owner is not None and (row.act == "added" and row.store_change_id not in taken_back):
            owners[row.row_id] = owner
    return found
