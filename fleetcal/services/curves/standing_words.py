"""What is said of departures, p-values and points."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from fleetcal.fleet.pooled import PooledFit
from fleetcal.services.curves.quantity import Quantity
from fleetcal.services.curves.usual_spread import UsualSpread
from fleetcal.wording import counted, p_words, percent

#: How the spread between airframes is weighted, wherever answers are averaged over it.
PRIOR_WORDS: Final = "weighted by its restricted likelihood and a Jeffreys-type prior"


def reason_words(
    ends: Sequence[tuple[float, float]],
    others: int,
    p_value: float,
    adjusted: float,
    outside: bool,
    quantity: Quantity,
) -> str:
    """Say how an airframe departs, and how sure that is.

    Args:
        ends (sequence of (speed in kt, departure)): At the slowest and the fastest speed, or at the
            only one.
        others: Airframes it was compared with.
        p_value, adjusted: For this airframe alone, and by Holm for all that were judged.
        outside: Whether to say what shape the departure has.
        quantity: Of the departure.
    """
    slow, fast = ends[0], ends[-1]
    kind = f"{_shape(slow[1], fast[1])}: " if outside else ""
    where = ", ".join(
        f"{quantity.departs(departure)} at {speed:.0f} kt"
        for speed, departure in dict.fromkeys((slow, fast))
    )
    return (
        f"{kind}{where}; an airframe that belongs to the group departs this far by chance in "
        f"{percent(p_value)} of cases; adjusted p-value, for all that were judged, "
        f"{p_words(adjusted)}; compared with {counted(others, 'other')}"
    )


def indicator_words(quantity: Quantity, own: float, speed_kt: float) -> str:
    """Say that the indicator may be to blame, to be put behind a reason.

    Args:
        own: What the airframe's instruments may add, expanded to 95 %.
        speed_kt: Where.
    """
    return (
        f"; it may be its indicator and not its port: the indicator was never on a bench, and "
        f"by its tolerance may be wrong by {quantity.size(own)} at {speed_kt:.0f} kt"
    )


def _shape(when_slow: float, when_fast: float) -> str:
    if when_slow * when_fast < 0.0:
        return "a tilt, one way when slow and the other when fast"
    if abs(when_fast) > 1.5 * abs(when_slow):
        return "a shift that grows with speed"
    if abs(when_slow) > 1.5 * abs(when_fast):
        return "a shift that fades with speed"
    return "a shift over the whole range"


def numbers_words(quantity: Quantity, numbers: Sequence[int]) -> str:
    """Return "point 3" or "points 3, 4, 7"."""
    what = quantity.one if len(numbers) == 1 else quantity.many
    return f"{what} {', '.join(str(number) for number in numbers)}"


def fit_words(quantity: Quantity, fit: PooledFit, groups: int, aircraft: str = "") -> str:
    """Say what was fitted.

    Args:
        groups: Groups fitted together.
        aircraft: How many aircraft, in words to be put behind the type.
    """
    shape = ("constant", "straight line", "quadratic")[fit.order]
    departs = "level and tilt" if len(fit.spread) > 1 else "level"
    shared = f"all {groups} groups" if groups > 1 else "the one group"
    return (
        f"{quantity.y_words} a {shape} in {quantity.x_words}, {departs} of each aircraft, the "
        f"lasting errors of its instruments in them, random about it with one spread "
        f"for {shared} of the type{aircraft}, restricted maximum likelihood"
    )


def judging_model_words(
    quantity: Quantity, fit: PooledFit, groups: int, usual: UsualSpread | None, airframes: int
) -> str:
    """Say what model airframes are judged by.

    Args:
        groups, airframes: Fitted together.
        usual: What was supposed of the spread.
    """
    bent = fit.bends is not None and bool(fit.bends.any())
    doubt = "; a curve that misses its points counts as that much less certain" if bent else ""
    prior = PRIOR_WORDS
    if usual is not None:
        prior = f"weighted by its restricted likelihood and by {usual.words(groups, airframes)}"
    return (
        f"{fit_words(quantity, fit, groups)}; each aircraft left out "
        f"in turn, p-values averaged over the spread between the others, {prior}, and "
        "adjusted by Holm's method for all judged; variances of the points times "
        f"{fit.phi:.2f}{doubt}"
    )
