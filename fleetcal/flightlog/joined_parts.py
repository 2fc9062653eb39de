"""Parts of one recording on one clock, so far apart that nothing crosses from one to the next."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np

from fleetcal.errors import DataError
from fleetcal.flightlog.noted import joined_noted
from fleetcal.flightlog.recording import Recording

#: Time put between two parts: longer than any run may pause.
APART_S: Final = 7200.0
_ONE_DAY_S: Final = 86400.0


def join_parts(parts: tuple[Recording, ...]) -> Recording:
    """Put parts one after the other on one clock.

    Args:
        parts: As `read_recordings` returns them.

    Returns:
        Its clock is that of the first part; a later part begins at least two hours after the end of
        the one before, whatever its own clock says.

    Raises:
        DataError: If the parts are of different days: they are flights of their own.
    """
    if len(parts) == 1:
        return parts[0]
    _one_day(parts)
    times = []
    begin = 0.0
    for part in parts:
        times.append(part.t_s + begin)
        begin += float(part.t_s[-1]) + APART_S
    names = [name for name in parts[0].channels if all(name in part.channels for part in parts)]
    resolution = {
        name: max(part.resolution.get(name, 0.0) for part in parts) for name in parts[0].resolution
    }
    return replace(
        parts[0],
        t_s=np.concatenate(times),
        channels={n: np.concatenate([part.channels[n] for part in parts]) for n in names},
        resolution=resolution,
        warnings=tuple(dict.fromkeys(w for part in parts for w in part.warnings)),
        noted=joined_noted([part.noted for part in parts]),
        still={name: words for part in parts for name, words in part.still.items()},
        line_numbers=np.concatenate([part.line_numbers for part in parts]),
    )


def _one_day(parts: tuple[Recording, ...]) -> None:
    """Refuse flights of several days."""
    starts = [part.start_utc for part in parts if part.start_utc is not None]
    if starts and (max(starts) - min(starts)).total_seconds() > _ONE_DAY_S:
        days = ", ".join(
            f"part {part.part} {part.start_utc:%Y-%m-%d}" for part in parts if part.start_utc
        )
        raise DataError(
            f"{parts[0].source_name} holds flights of several days: {days}.",
            "Choose one with 'part = 1' in a mapping file (--mapping), or cut the file.",
        )
