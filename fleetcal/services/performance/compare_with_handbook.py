"""Best speeds beside those that a handbook names."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from fleetcal.services.handbook.handbook_table import HandbookTable, handbooks_of
from fleetcal.services.performance.best_speed import BestSpeed
from fleetcal.store import Store, load_description

#: What handbooks call a speed, beside our own word for it.
ALSO_CALLED: Final = {"best glide": ("glide",), "least sink": ("minimum sink",)}


@dataclass(frozen=True, kw_only=True)
class HandbookSpeedDifference:
    """A best speed that a handbook names too, both as CAS.

    `difference_kt` is the handbook's less ours, with the band of ours; the
    handbook gives no uncertainty and is taken as exact.
    """

    speed: str
    handbook: str
    handbook_cas_kt: float
    difference_kt: float
    low_kt: float
    high_kt: float


def compare_with_handbook(
    store: Store, type_name: str, flap_setting: str, speeds: tuple[BestSpeed, ...]
) -> tuple[HandbookSpeedDifference, ...]:
    """Hold best speeds beside every handbook of the type that names them.

    Returns:
        A handbook's IAS becomes CAS by its own table; what lies off that table is left out.
    """
    with store.lookup() as reader:
        books = handbooks_of(load_description(reader), type_name, flap_setting)
    found = []
    for book in (b for b in books if len(b.rows) > 1):
        table = HandbookTable(book)
        for speed in speeds:
            names = {speed.speed, *ALSO_CALLED.get(speed.speed, ())}
            for name, ias in book.speeds:
                cas = float(table.cas_kt(np.array([ias]))[0])
                if name.casefold() not in names or np.isnan(cas) or speed.cas_kt is None:
                    continue
                assert speed.low_kt is not None
                assert speed.high_kt is not None
                found.append(
                    HandbookSpeedDifference(
                        speed=speed.speed,
                        handbook=str(table),
                        handbook_cas_kt=cas,
                        difference_kt=cas - speed.cas_kt,
                        low_kt=cas - speed.high_kt,
                        high_kt=cas - speed.low_kt,
                    )
                )
    return tuple(found)
