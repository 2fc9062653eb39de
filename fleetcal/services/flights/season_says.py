"""What the flights of a folder say together, without any model: the range of their corrections.

Points of one flight err together and every flight has the same indicator, so a mean over
them would look surer than it is. A range of what was measured claims nothing; the curve of
the airframe is what joins the points.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from fleetcal.services.flights.speed_answers import PrintedUnits
from fleetcal.store import PointFilter, Store, StoredPoint, select_points
from fleetcal.wording import counted, decimal

_MOST_BLOCKS: Final = 6
_LEAST_WIDTH_KT: Final = 10.0
_ROUND_KT: Final = 5.0


@dataclass(frozen=True, kw_only=True)
class SeasonSpeed:
    """What the flights of one airframe measured within a block of speeds.

    Attributes:
        slowest_kt, fastest_kt: IAS of the measurements.
        points, flights: Accepted measurements, and the flights that they are from.
        least_kt, most_kt: Smallest and largest correction that they say to add.
    """

    airframe: str
    slowest_kt: float
    fastest_kt: float
    points: int
    flights: int
    least_kt: float
    most_kt: float


def season_speeds(store: Store, kept: dict[str, set[int]]) -> tuple[SeasonSpeed, ...]:
    """Return what the accepted points of sorties say, by airframe and block of speeds.

    Args:
        kept (dict of str to set of int): Numbers of the sorties of each airframe.
    """
    found: list[SeasonSpeed] = []
    with store.lookup() as reader:
        for airframe, sorties in sorted(kept.items()):
            every = select_points(reader, PointFilter(airframe=airframe, accepted=True))
            found += _blocks(airframe, [row for row in every if row.sortie_id in sorties])
    return tuple(found)


def _blocks(airframe: str, rows: Sequence[StoredPoint]) -> list[SeasonSpeed]:
    if not rows:
        return []
    ordered = sorted(rows, key=lambda row: row.vic_kt)
    start = _ROUND_KT * math.floor(ordered[0].vic_kt / _ROUND_KT)
    span = (ordered[-1].vic_kt - start) / _MOST_BLOCKS
    width = max(_LEAST_WIDTH_KT, _ROUND_KT * math.ceil((span + 1e-9) / _ROUND_KT))
    blocks: dict[int, list[StoredPoint]] = {}
    for row in ordered:
        blocks.setdefault(int((row.vic_kt - start) // width), []).append(row)
    return [
        SeasonSpeed(
            airframe=airframe,
            slowest_kt=block[0].vic_kt,
            fastest_kt=block[-1].vic_kt,
            points=len(block),
            flights=len({row.sortie_id for row in block}),
            least_kt=min(row.dvpc_kt for row in block),
            most_kt=max(row.dvpc_kt for row in block),
        )
        for block in blocks.values()
    ]


def season_sentences(speeds: Sequence[SeasonSpeed], units: PrintedUnits) -> tuple[str, ...]:
    """Say what the flights of one airframe measured at each block of speeds.

    Args:
        speeds: Of one airframe; of several there are no sentences.
    """
    if len({one.airframe for one in speeds}) != 1:
        return ()
    return tuple(_sentence(one, units) for one in speeds)


def _sentence(one: SeasonSpeed, units: PrintedUnits) -> str:
    slow, fast = (decimal(units.of_speed(v), 0) for v in (one.slowest_kt, one.fastest_kt))
    where = f"At {slow} {units.speed}" if slow == fast else f"From {slow} to {fast} {units.speed}"
    least, most = sorted((-units.of_speed(one.most_kt), -units.of_speed(one.least_kt)))
    measured = counted(one.points, "measurement")
    says = "says" if one.points == 1 else "say"
    if least == most:
        off = f"{decimal(abs(least))} {units.speed} too {_way(least)}" if least else "no error"
    elif least >= 0.0 or most <= 0.0:
        near, far = sorted((abs(least), abs(most)))
        off = f"{decimal(near)} to {decimal(far)} {units.speed} too {_way(least + most)}"
    else:
        off = (
            f"anything from {decimal(-least)} {units.speed} too slow to {decimal(most)} "
            f"{units.speed} too fast"
        )
    return f"{where} {measured} {says}: {off}."


def _way(error: float) -> str:
    return "fast" if error > 0.0 else "slow"
