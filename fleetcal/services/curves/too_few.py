"""What is answered when a group has too few airframes for a pooled curve."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import TYPE_CHECKING

from fleetcal.errors import FitError
from fleetcal.fleet.pooled import FEWEST_AIRCRAFT

if TYPE_CHECKING:
    from fleetcal.services.curves.groups import GroupName


def too_few_error(
    airframes: Mapping[GroupName, set[str]],
    wanted: GroupName | None,
    flap_setting: str,
    barred: Collection[str],
) -> FitError:
    """Return the error that says how many airframes there are, and how many are needed.

    Args:
        airframes: Who has points that count, by group.
        wanted: The group that was asked for; None if no group is large enough.
        barred (collection of str): Airframes that failed leak checks keep out.
    """
    hint = "reduce flights of more airframes"
    kept_out = f" (barred by failed leak checks: {', '.join(sorted(barred))})" if barred else ""
    if wanted is None:
        count = max(map(len, airframes.values()), default=0)
        what = f"no group has accepted points of {FEWEST_AIRCRAFT} airframes"
        return FitError(
            f"{what} with flaps {flap_setting}; the largest has {count}{kept_out}", hint
        )
    if wanted.engine is not None:
        hint += ", or name the static source alone to pool all pairings"
    count = len(airframes.get(wanted, set()))
    return FitError(
        f"{wanted}: accepted points with flaps {flap_setting} of {count} of the "
        f"{FEWEST_AIRCRAFT} airframes that a pooled curve needs{kept_out}",
        hint,
    )
