"""Whether some runs of a plan are better flown with another flap setting of the airframe.

Each setting has its own curve, so the runs with one tell nothing of the other. The runs are shared
out so that the larger of the two largest bands becomes smallest.
"""

from __future__ import annotations

import numpy as np

from fleetcal.errors import DataError, FitError
from fleetcal.services.performance.own_basis import own_basis
from fleetcal.services.performance.plan_basis import PlanBasis, plan_basis
from fleetcal.services.performance.plan_values import PlanRequest
from fleetcal.services.performance.weigh_sorties import plan_of
from fleetcal.store import AirframeDescription, PointFilter, Store, flap_settings_flown


def other_flaps(
    store: Store, airframe: AirframeDescription, request: PlanRequest, basis: PlanBasis
) -> tuple[str, ...]:
    """Say which other flap setting is known less well, and how many of the runs it deserves.

    Nothing if a setting was asked for, or a question.

    Args:
        basis: Of the plan, whose setting is the first.
    """
    if request.flap_setting is not None or request.question is not None:
        return ()
    with store.lookup() as reader:
        chosen = PointFilter(type=airframe.type, accepted=True)
        flown = flap_settings_flown(reader, chosen) - {basis.known.flap_setting}
    widest, other, largest = "", basis, largest_kt(basis, 0)
    for flaps in sorted(flown):
        try:
            found = (
                plan_basis(store, airframe, flaps, request)[0]
                if basis.own is None
                else own_basis(store, airframe, flaps, request).basis
            )
        except (DataError, FitError):
            continue
        if largest_kt(found, 0) > largest:
            widest, other, largest = flaps, found, largest_kt(found, 0)
    if not widest:
        return ()
    return (
        f"with flaps {widest} the largest band is wider, ±{largest:.1f} kt. "
        f"{_shared_out(basis, other, widest, request.points)}",
    )


def largest_kt(basis: PlanBasis, count: int) -> float:
    """Return the largest band after so many planned runs of one sortie, half width in knots."""
    left = plan_of(basis, count).after[-1] if count else basis.curve.deviation()
    return float(np.max(left * basis.half_kt))


def runs_for_other(first: PlanBasis, other: PlanBasis, count: int) -> int:
    """Return how many of the runs go to the other setting.

    The more it gets, the narrower its band and the wider that of the first: the last number of
    runs at which its own is still the wider, or one more.
    """
    low, high = 0, count
    while high - low > 1:
        middle = (low + high) // 2
        if largest_kt(other, middle) > largest_kt(first, count - middle):
            low = middle
        else:
            high = middle
    left = [max(largest_kt(other, n), largest_kt(first, count - n)) for n in (low, high)]
    return (low, high)[int(np.argmin(left))]


def _shared_out(first: PlanBasis, other: PlanBasis, flaps: str, count: int) -> str:
    number = runs_for_other(first, other, count)
    if number == count:
        return f"Plan that flight with --flap-setting {flaps!r}"
    rest = count - number
    return (
        f"Of {count} runs flown in one sortie give it {number}: ±{largest_kt(other, number):.1f} "
        f"kt is then left of it, and ±{largest_kt(first, rest):.1f} kt with flaps "
        f"{first.known.flap_setting}. Plan them with --points {number} --flap-setting {flaps!r}, "
        f"and --points {rest} --flap-setting {first.known.flap_setting!r}"
    )
