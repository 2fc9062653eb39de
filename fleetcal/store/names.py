"""Look things up by the names people use, and help when a name is not there."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Mapping
from datetime import date

from sqlalchemy import select
from sqlalchemy.orm import Session

from fleetcal.errors import DataError, UnknownNameError
from fleetcal.store.models import Airframe, EquipmentFit


def unknown_name(kind: str, name: str, known: Iterable[str]) -> UnknownNameError:
    """Return the error for a name that is not in the store, with the nearest ones as its hint.

    Args:
        kind: What was looked for, such as ``airframe``.
        name: As it was given.
        known: The names that are there.
    """
    by_fold: dict[str, str] = {}
    for candidate in sorted(known):
        by_fold.setdefault(candidate.casefold(), candidate)
    close = difflib.get_close_matches(name.casefold(), by_fold, n=3, cutoff=0.5)
    if close:
        hint = "did you mean " + " or ".join(by_fold[match] for match in close) + "?"
    elif by_fold:
        hint = f"the store knows {len(by_fold)}: " + ", ".join(list(by_fold.values())[:5])
        hint += ", ..." if len(by_fold) > 5 else ""
    else:
        hint = "the store has none yet: 'fleetcal fleet airframe TAG' describes one, or "
        hint += "load a fleet description first"
    return UnknownNameError(f"there is no {kind} {name!r} in the store", hint)


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


def known_id(kind: str, name: str, ids: Mapping[str, int]) -> int:
    """Return the id of a name.

    Args:
        kind: What is looked for, for the message.
        ids: Ids by name.

    Raises:
        UnknownNameError: If the name is not among them.
    """
    if name not in ids:
        raise unknown_name(kind, name, ids)
    return ids[name]
