"""One line of the uncertainty budget of a point."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Final

from fleetcal.records.column import column

#: Whose error a term is: it has one unknown value at all points of its owner.
OWNERS: Final = ("point", "sortie", "airframe", "fleet")


@dataclass(frozen=True, kw_only=True, slots=True)
class BudgetTerm:
    """One line of the budget; no two of a point have the same name."""

    name: Annotated[str, column("what errs")]
    u_kappa: Annotated[float, column("sensitivity times standard uncertainty, with its sign")]
    owner: Annotated[str, column("all its points have the same error", words=OWNERS)]
    #: JCGM 100:2008, 4.2 and 4.3.
    kind: Annotated[str, column("A from scatter, B from other knowledge", words=("A", "B"))]
    note: Annotated[str, column("the input in words", blank=True)] = ""
