"""Which changes stand, which were taken back by whom, and which are about the history itself."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from fleetcal.store.models import ChangedRow, StoreChange

_ITSELF = StoreChange.__tablename__


@dataclass(frozen=True, kw_only=True)
class Outcomes:
    """What became of the changes of a store.

    Attributes:
        taken_back: Number of each change that was taken back -> when and by whom.
        of_history: Numbers of changes that took others back, or brought a backup back.
    """

    taken_back: dict[int, str]
    of_history: frozenset[int]

    def stands(self, change: int) -> bool:
        """Tell whether a change could be taken back."""
        return change not in self.taken_back and change not in self.of_history


def outcomes_of(session: Session) -> Outcomes:
    """Return what became of the changes of a store."""
    older = select(StoreChange.id, StoreChange.undone).where(StoreChange.undone != "")
    taken_back = {row.id: row.undone for row in session.execute(older)}
    query = (
        select(StoreChange, ChangedRow)
        .join(ChangedRow, StoreChange.id == ChangedRow.store_change_id)
        .where(ChangedRow.table_name == _ITSELF)
    )
    of_history = set()
    for change, row in session.execute(query.order_by(ChangedRow.id)):
        of_history.add(change.id)
        if row.act == "changed":
            taken_back[row.row_id] = f"{change.made_at:%Y-%m-%d %H:%M:%S} UTC by {change.made_by}"
    return Outcomes(taken_back=taken_back, of_history=frozenset(of_history))
