"""One line of the uncertainty budget of a point."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final

from fleetcal.records.column import column

#: Whose error a term is: it has one unknown value at all points of its owner.
OWNERS: Final = ("point", "sortie", "airframe", "fleet")


@dataclass(frozen=True, kw_only=True, slots=True)
class BudgetTerm:
    """One line of the budget; no two of a point have the same name."""

    name: str = field(metadata=column("", "what errs"))
    u_kappa: float = field(
        metadata=column("", "sensitivity times standard uncertainty, with the sensitivity's sign")
    )
    owner: str = field(metadata=column("", "all its points have the same error", words=OWNERS))
    kind: str = field(
        metadata=column(
            "",
            "A from scatter, B from other knowledge (JCGM 100:2008, 4.2 and 4.3)",
            words=("A", "B"),
        )
    )
    note: str = field(default="", metadata=column("", "the input in words", blank=True))
