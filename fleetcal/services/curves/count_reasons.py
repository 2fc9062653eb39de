"""How many points of which airframe are left out, and why, in words."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping

from fleetcal.wording import counted


def count_reasons(points: Iterable[tuple[str, str]], what: str = "point") -> tuple[str, ...]:
    """Return in words how many points of which airframe are left out for which reason.

    Args:
        points (iterable of (airframe, reason)): One for each point.
        what: Is counted.

    Returns:
        By airframe, without a full stop.
    """
    return tuple(
        f"{counted(count, what)} of {airframe}: {reason}"
        for (airframe, reason), count in sorted(Counter(points).items())
    )


def counted_reasons_words(reasons: Mapping[str, int], one: str = "point") -> str:
    """Return why points do not count, each reason once with how many points it keeps out."""
    return "; ".join(f"{counted(count, one)}: {reason}" for reason, count in reasons.items())
