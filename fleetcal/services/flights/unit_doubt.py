"""Whether what a flight gives is more likely a wrong unit than a static port."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from fleetcal.services.flights.run_lines import RunLine

#: A |kappa| beyond this is warned of: it is what a slip of miles an hour and
#: knots, metres and feet or degrees F and C makes (0.15 to 0.25), and hardly any
#: static port does (common practice, no published source).
SUSPECT_KAPPA: Final = 0.15
# off by more than this share at every speed flown, a wrong unit is likelier than any port or leak
_SURELY_OFF: Final = 0.1


def unit_warning(lines: Sequence[RunLine]) -> tuple[str, ...]:
    """Warn of runs whose error hardly any static port makes.

    Parameters
    ----------
    lines : sequence of RunLine

    Returns
    -------
    tuple of str
        One warning, or none.
    """
    suspect = [line for line in lines if abs(line.kappa) > SUSPECT_KAPPA]
    if not suspect:
        return ()
    word = "run" if len(suspect) == 1 else "runs"
    numbers = ", ".join(str(line.run) for line in suspect)
    return (
        f"{word} {numbers}: the airspeed would be off by {_sizes(suspect)}, which hardly any "
        "static port does: check the units of airspeed, altitude and temperature",
    )


def doubted(lines: Sequence[RunLine]) -> list[RunLine]:
    """Take back the acceptance of runs that are all off as a wrong unit puts them.

    A port that is wrong at low speed comes right at high speed, and a leak
    makes less; a slip of miles an hour and knots makes 13 or 15 % at any speed.

    Parameters
    ----------
    lines : sequence of RunLine
        Of one flight.

    Returns
    -------
    list of RunLine
        The same, with a reason where they are not accepted now.
    """
    if not lines or any(abs(line.dvpc_kt / line.vic_kt) <= _SURELY_OFF for line in lines):
        return list(lines)
    reason = (
        f"the airspeed would be off by {_sizes(lines)} at every speed flown: a wrong unit or "
        "column is likelier than such a static port"
    )
    return [replace(line, accepted=False, reason=line.reason or reason) for line in lines]


def _sizes(lines: Sequence[RunLine]) -> str:
    off = sorted(100.0 * line.dvpc_kt / line.vic_kt for line in lines)
    low, high = (f"{share:+.0f}" for share in (off[0], off[-1]))
    return f"{low} %" if low == high else f"{low} to {high} %"
