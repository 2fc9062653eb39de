"""What is said of departures, chances and points."""

from __future__ import annotations

from collections.abc import Sequence

from fleetcal.fleet.pooled import PooledFit


def reason_words(
    ends: Sequence[tuple[float, float]], others: int, adjusted: float, outside: bool
) -> str:
    """Say how an airframe departs, and how sure that is.

    Parameters
    ----------
    ends : sequence of (ias_kt, departure_kt)
        At the slowest and the fastest speed, or at the only one.
    others : int
        Airframes it was compared with.
    adjusted : float
        Chance, allowing for all that were judged.
    outside : bool
        Whether to say what shape the departure has.

    Returns
    -------
    str
    """
    slow, fast = ends[0], ends[-1]
    kind = f"{_shape(slow[1], fast[1])}: " if outside else ""
    where = _reads(*slow) if slow == fast else f"{_reads(*slow)}, {_reads(*fast)}"
    return (
        f"{kind}{where}; one that belongs here would depart this far with a chance "
        f"{chance_words(adjusted)}, allowing for all that were judged; "
        f"compared with {others} others"
    )


def _reads(ias_kt: float, departure_kt: float) -> str:
    if abs(departure_kt) < 0.05:
        return f"reads as the group at {ias_kt:.0f} kt"
    way = "slower" if departure_kt > 0.0 else "faster"
    return f"reads {abs(departure_kt):.1f} kt {way} than the group at {ias_kt:.0f} kt"


def _shape(slow_kt: float, fast_kt: float) -> str:
    if slow_kt * fast_kt < 0.0:
        return "a tilt, one way when slow and the other when fast"
    if abs(fast_kt) > 1.5 * abs(slow_kt):
        return "a shift that grows with speed"
    if abs(slow_kt) > 1.5 * abs(fast_kt):
        return "a shift that fades with speed"
    return "a shift over the whole range"


def chance_words(chance: float) -> str:
    """Return a chance as "of 3.2 %".

    Parameters
    ----------
    chance : float

    Returns
    -------
    str
    """
    if chance > 0.99:
        return "of nearly one"
    return "below 0.1 %" if chance < 0.001 else f"of {100.0 * chance:.1f} %"


def counted(count: int, what: str) -> str:
    """Return "1 sortie" or "3 sorties".

    Parameters
    ----------
    count : int
    what : str
        In the singular, with a regular plural.

    Returns
    -------
    str
    """
    return f"{count} {what if count == 1 else f'{what}s'}"


def numbers_words(numbers: Sequence[int]) -> str:
    """Return "point 3" or "points 3, 4, 7".

    Parameters
    ----------
    numbers : sequence of int
        Of points.

    Returns
    -------
    str
    """
    what = "point" if len(numbers) == 1 else "points"
    return f"{what} {', '.join(str(number) for number in numbers)}"


def fit_words(fit: PooledFit, groups: int, aircraft: str = "") -> str:
    """Say what was fitted.

    Parameters
    ----------
    fit : PooledFit
    groups : int
        Groups fitted together.
    aircraft : str
        How many aircraft, in words to be put behind the type.

    Returns
    -------
    str
    """
    shape = ("constant", "straight line", "quadratic")[fit.order]
    departs = "level and tilt" if len(fit.spread) > 1 else "level"
    shared = f"all {groups} groups" if groups > 1 else "the one group"
    return (
        f"kappa a {shape} in (Vs/Viw)^2, {departs} of each aircraft random about it with one "
        f"spread for {shared} of the type{aircraft}, restricted maximum likelihood"
    )


def judging_model_words(fit: PooledFit, groups: int) -> str:
    """Say what model airframes are judged by.

    Parameters
    ----------
    fit : PooledFit
    groups : int
        Groups fitted together.

    Returns
    -------
    str
    """
    return (
        f"{fit_words(fit, groups)}; each aircraft left out "
        "in turn, chances averaged over what the others say of the spread, Holm's adjustment for "
        f"all judged; variances of the points times {fit.phi:.2f}"
    )
