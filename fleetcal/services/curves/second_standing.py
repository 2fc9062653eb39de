"""What another program's mixed model says of the standing of an airframe, in words."""

from __future__ import annotations

import numpy as np

from fleetcal.errors import FitError
from fleetcal.fleet.outliers import Verdicts
from fleetcal.fleet.second_opinion import second_standing
from fleetcal.services.curves.airframe_verdict import FAMILY_LEVEL
from fleetcal.services.curves.type_points import TypePoints, curve_of
from fleetcal.wording import p_words


def second_words(known: TypePoints, verdicts: Verdicts, number: int) -> str:
    """Say whether the mixed model of statsmodels agrees, and why it may not.

    Args:
        verdicts: Of `known.points`.
        number: Of a member.
    """
    member = known.members[number]
    try:
        departure, chance = second_standing(known.points, verdicts.fit.order, number)
    except FitError as error:
        return f"{member.airframe}: no second opinion, {error.message}"
    rows = known.rows_of_member(number)
    speed = float(np.mean(known.speeds_of(rows)))
    curve = curve_of(verdicts.fit.beta[verdicts.fit.sums.group_of[number]])
    size = float(known.scale.small(np.array(speed), np.array(departure), curve))
    judged = int(np.isfinite(verdicts.adjusted).sum())
    outside = chance * judged < FAMILY_LEVEL and abs(size) >= known.quantity.smallest
    here = bool(verdicts.adjusted[number] < FAMILY_LEVEL)
    found = "surely outside" if outside else "not surely outside"
    return (
        f"{member.airframe} in {member.group}: the mixed model of statsmodels, fitted to all "
        f"others, finds a mean departure of {known.quantity.signed(size)} at {speed:.0f} kt, "
        f"p-value {p_words(chance)}; with the {judged} judged allowed for it is {found}, "
        f"{'as here' if outside == here else 'not as here'}. It supposes nothing of the spread "
        "between airframes and takes what it finds as exact, weighs every point alike, and sets "
        "nobody else aside"
    )
