"""The correction of what an indicator reads, whoever is to blame: port or indicator.

Legs measure well by how much a reading must be corrected. What they cannot tell is
how much of it the indicator itself is to blame for; only its bench check can. So
the correction as read leaves the indicator's term out, and that of the port alone
has it in.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Protocol

import numpy as np
from scipy import special

#: Name of the indicator's term, and what the note of one without a bench check ends with.
INDICATOR: Final = "airspeed indicator"
NO_CHECK: Final = "no bench check"


class KnownTerm(Protocol):
    """A term of a budget, stored or just worked out."""

    @property
    def name(self) -> str:
        """Of the term."""

    @property
    def u_kappa(self) -> float:
        """Signed."""

    @property
    def kind(self) -> str:
        """A or B."""

    @property
    def note(self) -> str:
        """The input uncertainty in words."""


@dataclass(frozen=True)
class AsRead:
    """How sure the correction of a reading is.

    Attributes:
        U95_kappa: Expanded to 95 % (JCGM 100:2008, G.3 and G.4), the indicator left out.
        scatter_freedom: Degrees of freedom of the terms of kind A together; None where none is
            limited.
    """

    U95_kappa: float
    scatter_freedom: float | None


def as_read(terms: Sequence[KnownTerm], degrees_of_freedom: float | None) -> AsRead:
    """Return how sure the correction of a reading is.

    Args:
        terms: The whole budget of a point.
        degrees_of_freedom: Effective, of the whole; infinite or None for no limit.
    """
    total, scatter = _square(terms), _square([t for t in terms if t.kind == "A"])
    read = _square([t for t in terms if t.name != INDICATOR])
    if degrees_of_freedom is None or not np.isfinite(degrees_of_freedom) or scatter == 0.0:
        return AsRead(_factor(np.inf) * float(np.sqrt(read)), None)
    # only what is of kind A limits them, so Welch and Satterthwaite's formula turns round
    freedom = degrees_of_freedom * (scatter / total) ** 2
    return AsRead(_factor(freedom * (read / scatter) ** 2) * float(np.sqrt(read)), freedom)


def u_as_read(terms: Sequence[KnownTerm]) -> float:
    """Return the standard uncertainty of kappa with the indicator's term left out.

    Args:
        terms: The whole budget of a point.
    """
    return float(np.sqrt(_square([t for t in terms if t.name != INDICATOR])))


def _factor(freedom: float) -> float:
    return float(special.stdtrit(freedom, 0.975))


def _square(terms: Sequence[KnownTerm]) -> float:
    return sum(t.u_kappa * t.u_kappa for t in terms)  # a square beyond all numbers is infinite


def never_on_a_bench(terms: Sequence[KnownTerm]) -> bool:
    """Return whether a budget says that its airspeed indicator has no bench check.

    Returns:
        False where nothing is said, as of imported points.
    """
    return any(t.name == INDICATOR and t.note.endswith(NO_CHECK) for t in terms)
