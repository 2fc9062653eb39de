"""Which way a table is read, and in which unit its speeds are printed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from fleetcal.errors import ImplausibleError
from fleetcal.units import MPS_PER_KT, TO_SI

IAS_TO_CAS: Final = "ias-to-cas"
CAS_TO_IAS: Final = "cas-to-ias"
DIRECTIONS: Final = (IAS_TO_CAS, CAS_TO_IAS)
SPEED_UNITS: Final = ("kt", "mph", "km/h")
_IN_NAMES: Final = {"kt": "kt", "mph": "mph", "km/h": "kmh"}


@dataclass(frozen=True)
class TableForm:
    """How a table is laid out.

    Args:
        direction: ``ias-to-cas`` (from the reading to the true value) or ``cas-to-ias``.
        speed_unit: ``kt``, ``mph`` or ``km/h``.

    Raises:
        ImplausibleError: If one is unknown.
    """

    direction: str = IAS_TO_CAS
    speed_unit: str = "kt"

    def __post_init__(self) -> None:
        for value, known in ((self.direction, DIRECTIONS), (self.speed_unit, SPEED_UNITS)):
            if value not in known:
                raise ImplausibleError(
                    f"a table cannot be laid out as {value!r}", f"known: {', '.join(known)}"
                )

    @property
    def from_cas(self) -> bool:
        """Whether the table goes from CAS to IAS."""
        return self.direction == CAS_TO_IAS

    @property
    def unit_in_names(self) -> str:
        """The unit as it ends the name of a CSV column or a JSON key."""
        return _IN_NAMES[self.speed_unit]

    @property
    def per_kt(self) -> float:
        """How many of the unit make one knot."""
        return 1.0 if self.speed_unit == "kt" else MPS_PER_KT / TO_SI[self.speed_unit][0]

    def printed(self, speed_kt: float) -> float:
        """Return a speed or a difference of speeds in the table's unit."""
        return speed_kt * self.per_kt
