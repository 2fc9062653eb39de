"""A handbook's table of IAS and CAS: chosen by name, read between its lines."""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from difflib import get_close_matches

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.errors import DataError, UnknownNameError
from fleetcal.store import FleetDescription, HandbookDescription, Store, load_description


@dataclass(frozen=True)
class HandbookTable:
    """A handbook table; between two lines CAS runs straight (common practice).

    The table is taken as exact: a handbook gives no uncertainty.
    """

    book: HandbookDescription

    @property
    def reach(self) -> tuple[float, float]:
        """Lowest and highest IAS of the table, kt."""
        return self.book.rows[0][0], self.book.rows[-1][0]

    @property
    def rises(self) -> bool:
        """Whether it has two lines or more, and CAS rises with IAS over all of them."""
        cas = [value for _, value in self.book.rows]
        return len(cas) > 1 and all(low < high for low, high in itertools.pairwise(cas))

    def cas_kt(self, ias_kt: Array) -> Array:
        """Return CAS by the table at airspeeds (n,); NaN off the table."""
        ias, cas = (np.array(column) for column in zip(*self.book.rows, strict=True))
        return np.asarray(np.interp(ias_kt, ias, cas, left=np.nan, right=np.nan))

    def __str__(self) -> str:
        return f"{self.book.name} ({self.book.static_source}, flaps {self.book.flap_setting})"


def choose_handbook(
    store: Store, type_name: str | None, flap_setting: str, name: str | None
) -> HandbookTable:
    """Return the handbook table that is meant.

    Args:
        name: The only one at this flap setting when None.

    Raises:
        UnknownNameError: If there is none of that name.
        DataError: If several could be meant, or the table has fewer than two lines.
    """
    with store.lookup() as reader:
        description = load_description(reader)
    found = handbooks_of(description, type_name, flap_setting)
    if name is not None:
        known = sorted({book.name for book in found})
        found = [book for book in found if book.name.casefold() == name.strip().casefold()]
        if not found:
            near = get_close_matches(name, known, n=3) or known
            raise UnknownNameError(
                f"there is no handbook table {name!r} for flaps {flap_setting} in the store",
                f"known: {', '.join(near)}" if near else "enter one with 'handbook enter'",
            )
    if not found:
        raise UnknownNameError(
            f"the store has no handbook table for flaps {flap_setting}",
            "enter one with 'handbook enter'",
        )
    if len(found) > 1:
        raise DataError(
            f"several handbook tables could be meant: {', '.join(map(_name, found))}",
            "name one with --handbook, and the type with --type",
        )
    if len(found[0].rows) < 2:
        raise DataError(f"handbook table {_name(found[0])} has no two lines", "enter its lines")
    return HandbookTable(found[0])


def handbooks_of(
    description: FleetDescription, type_name: str | None, flap_setting: str | None = None
) -> list[HandbookDescription]:
    """Return the handbook tables of a type, or of all, at a flap setting, or at all."""
    return [
        book
        for book in description.handbooks
        if type_name in (None, book.type) and flap_setting in (None, book.flap_setting)
    ]


def _name(book: HandbookDescription) -> str:
    return f"{book.type}, {book.static_source}, {book.name}"
