"""What is answered when a group has too few airframes for a pooled curve."""

from __future__ import annotations

from collections.abc import Mapping

from fleetcal.errors import FitError
from fleetcal.fleet.fewest import FEWEST_AIRCRAFT
from fleetcal.services.curves.group_name import GroupName
from fleetcal.services.curves.type_points import TypePoints


def too_few_error(
    airframes: Mapping[GroupName, set[str]], named: GroupName | None, known: TypePoints
) -> FitError:
    """Return the error that says how many airframes there are, and how many are needed.

    Args:
        airframes: Who has points that count, by group.
        named: The group that was asked for; None if no group is large enough.
        known: For the quantity, and what is barred.
    """
    quantity, flown = known.quantity, known.flown
    barred = sorted({r.airframe for r in known.barred if named is None or named.holds(r)})
    out = [f"barred by failed leak checks: {', '.join(barred)}"] if barred else []
    kept_out = f" ({'; '.join([*out, *flown.left_out])})" if out or flown.left_out else ""
    if named is None:
        count = max(map(len, airframes.values()), default=0)
        return FitError(
            f"no {quantity.group_word} has accepted {flown.what} of {FEWEST_AIRCRAFT} airframes"
            f"{flown.how}; the largest has {count}{kept_out}",
            quantity.needs,
        )
    hint = quantity.needs
    if named.engine is not None and quantity.by_port:
        hint += ", or name the static source alone to pool all pairings"
    count = len(airframes.get(named, set()))
    return FitError(
        f"{named}: accepted {flown.what}{flown.how} of {count} of the {FEWEST_AIRCRAFT} airframes "
        f"that a pooled curve needs{kept_out}",
        hint,
    )
