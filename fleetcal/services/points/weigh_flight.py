"""Give a stored flight the weight that it was flown at."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fleetcal.services.plausible_weight import require_plausible_weight
from fleetcal.store import (
    Store,
    Touching,
    WeightCorrected,
    correct_weight,
    find_airframe,
)
from fleetcal.store.undescribed import weight_is_supposed

if TYPE_CHECKING:
    from sqlalchemy.orm import Session


def weigh_flight(store: Store, sortie_id: int, weight_kg: float) -> WeightCorrected:
    """Correct the weight of a stored flight; its points follow without being reduced again.

    Raises:
        UnknownNameError: If there is no such sortie.
        ImplausibleError: If no aircraft of its type weighs so much or so little.
        DataError: If its runs got their weights from a take-off weight.
    """

    def work(session: Session) -> WeightCorrected:
        done = correct_weight(session, sortie_id, weight_kg)
        kind = find_airframe(session, done.airframe).aircraft_type
        if not weight_is_supposed(kind.note):
            require_plausible_weight(weight_kg, kind.name, kind.reference_weight_kg)
        return done

    return store.write(work, Touching(sorties=(sortie_id,)))
