"""What a file of any kind logs, before it is divided into recordings."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Protocol

import numpy as np
import numpy.typing as npt

from fleetcal.flightlog.cells import Floats
from fleetcal.flightlog.clock import ClockReading
from fleetcal.flightlog.columns import ColumnChoice


class Headed(Protocol):
    """Anything with a name and headings that a message can list."""

    @property
    def source_name(self) -> str:
        """File name without folder."""

    @property
    def headings(self) -> tuple[str, ...]:
        """Headings of all columns."""


@dataclass(frozen=True, kw_only=True)
class Logged:
    """Columns of one file as they are written.

    Attributes:
        headings: Of all columns, for messages.
        line_numbers: Shape (rows,).
        values (rows,): Place of the column -> numbers in its unit.
        other_fields: What else the file holds.
    """

    source_name: str
    sha256: str
    kind: str
    headings: tuple[str, ...]
    clock_heading: str
    clock: ClockReading
    line_numbers: npt.NDArray[np.int32] = field(repr=False)
    choices: tuple[ColumnChoice, ...] = field(repr=False)
    values: dict[int, Floats] = field(repr=False)
    track_reference: str
    warnings: tuple[str, ...]
    other_fields: tuple[str, ...] = ()
