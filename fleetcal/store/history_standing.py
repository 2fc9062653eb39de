"""Which changes stand, which were taken back by whom, and which are about the history itself."""

from __future__ import annotations

from dataclasses import dataclass

from fleetcal.store.plain_reads import Reader, ask, moment_of


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


def outcomes_of(reader: Reader) -> Outcomes:
    """Return what became of the changes of a store."""
    older = "SELECT id, undone FROM store_change WHERE undone != ''"
    taken_back: dict[int, str] = dict(ask(reader, older))
    query = """SELECT store_change.id, made_at, made_by, changed_row.act, row_id
        FROM store_change JOIN changed_row ON changed_row.store_change_id = store_change.id
        WHERE table_name = 'store_change' ORDER BY changed_row.id"""
    of_history = set()
    for number, made_at, made_by, act, row_id in ask(reader, query):
        of_history.add(number)
        if act == "changed":
            taken_back[row_id] = f"{moment_of(made_at):%Y-%m-%d %H:%M:%S} UTC by {made_by}"
    return Outcomes(taken_back=taken_back, of_history=frozenset(of_history))
