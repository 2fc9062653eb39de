"""An airframe as a row of the store, and what it carried on a day."""

from __future__ import annotations

from datetime import date

from sqlalchemy import select
from sqlalchemy.orm import Session

from fleetcal.errors import DataError
from fleetcal.store.models import Airframe, EquipmentFit
from fleetcal.store.names import unknown_name


def find_airframe(session: Session, tag: str) -> Airframe:
    """Return the airframe with a tag.

    Raises:
        UnknownNameError: If there is none; the hint names tags that are nearly the same.
    """
    airframe = session.scalar(select(Airframe).where(Airframe.tag == tag))
    if airframe is None:
        raise unknown_name("airframe", tag, session.scalars(select(Airframe.tag)))
    return airframe


def fit_in_force(airframe: Airframe, day: date) -> EquipmentFit:
    """Return what an airframe carried on a day.

    Args:
        airframe: In an open session.

    Returns:
        The last one that began on that day or before.

    Raises:
        DataError: If the airframe has no fit, or its first one began later.
    """
    fits = sorted(airframe.fits, key=lambda fit: fit.from_date)
    begun = [fit for fit in fits if fit.from_date <= day]
    if begun:
        return begun[-1]
    hint = (
        f"'fleetcal fleet airframe {airframe.tag} --since {day}' adds what it carried then, as far "
        "as it is known"
    )
    if not fits:
        raise DataError(f"airframe {airframe.tag}: no equipment fit is recorded", hint)
    first = fits[0].from_date
    raise DataError(
        f"airframe {airframe.tag}: the first fit is from {first}, the date is {day}", hint
    )
