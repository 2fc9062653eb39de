"""What is told of rows of a file that were kept and not accepted."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from fleetcal.wording import counted

_NAMED: Final = 5


def not_accepted_words(doubted: Mapping[int, str]) -> tuple[str, ...]:
    """Say which lines are not accepted and why, and how they come to count.

    Args:
        doubted: Line of the file -> reason.
    """
    if not doubted:
        return ()
    found = [f"line {line} is not accepted: {why}" for line, why in list(doubted.items())[:_NAMED]]
    if len(doubted) > _NAMED:
        found.append(f"{len(doubted) - _NAMED} more lines are not accepted, for such reasons")
    return (
        *found,
        f"{counted(len(doubted), 'point')} kept and not accepted: 'fleetcal points list "
        "--rejected' shows number and reason, 'fleetcal points accept NUMBER' lets it count",
    )
