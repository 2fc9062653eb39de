"""Which run a point is of: its number is the number of the run, which the legs carry too.

Stores and share files of former versions counted points over the solved runs only. Their legs
tell the run: only those of solved runs are stored, so the points in their order are of the runs
in theirs, if the means over the legs and the true airspeed from their ground vectors agree.

Where the legs do not tell, the number stays, `store check` names the flight, and nothing is
read or drawn by that number. Manoeuvres have no stored legs: their older numbers stay until
they are reduced again. A power that was read from a log for another run keeps its value
with a doubt until it is noted again.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from itertools import groupby
from typing import Any, Final

#: What is looked at of a point and of a leg.
POINT_VALUES: Final = (
    *("number", "technique", "leg_count", "vic_kt", "pressure_altitude_ft"),
    *("tas_kt", "wind_speed_kt", "wind_from_deg", "residual_kt"),
)
LEG_VALUES: Final = (
    *("run_number", "leg_number", "vic_kt", "pressure_altitude_ft"),
    *("ground_east_kt", "ground_north_kt"),
)
_LEGS: Final = "gps legs"
# A point has the plain means of its legs; only rounding differs.
_NEAR_KT: Final = 0.001
_NEAR_FT: Final = 0.01
# Residuals leave the mean of the legs' true airspeeds as it is, to first order.
_NEAR_TAS_KT: Final = 0.05

Row = Mapping[Any, Any]


def runs_of_points(points: Sequence[Row], legs: Sequence[Row]) -> list[int] | None:
    """Return the number of the run that each point of a sortie is of.

    Args:
        points: With `POINT_VALUES`, by number.
        legs: With `LEG_VALUES`, by run and leg.

    Returns:
        The numbers that the points have where no legs are stored, or the technique knows none; None
        where the legs do not tell.
    """
    numbers = [int(point["number"]) for point in points]
    if not legs or any(point["technique"] != _LEGS for point in points):
        return numbers
    runs = {run: list(group) for run, group in groupby(legs, lambda leg: int(leg["run_number"]))}
    if len(runs) == len(points) and all(map(_fits, points, runs.values())):
        return list(runs)
    likely = [[run for run, own in runs.items() if _fits(point, own)] for point in points]
    found = [mine[0] for mine in likely if len(mine) == 1]
    return found if len(set(found)) == len(points) else None


def runs_of_rows(points: Sequence[object], legs: Sequence[object]) -> list[int] | None:
    """Return what `runs_of_points` does, of rows as they are read from the store.

    Args:
        points: All of one sortie, by number.
    """
    return runs_of_points(
        [{name: getattr(point, name) for name in POINT_VALUES} for point in points],
        [{name: getattr(leg, name) for name in LEG_VALUES} for leg in legs],
    )


def _fits(point: Row, legs: Sequence[Row]) -> bool:
    """Tell whether a point may come from the legs of a run."""
    if point["leg_count"] not in (None, len(legs)):
        return False
    for name, near in (("vic_kt", _NEAR_KT), ("pressure_altitude_ft", _NEAR_FT)):
        mean = math.fsum(leg[name] for leg in legs) / len(legs)
        if abs(mean - point[name]) > near:
            return False
    solved = (point["tas_kt"], point["wind_speed_kt"], point["wind_from_deg"])
    ground = [(leg["ground_east_kt"], leg["ground_north_kt"]) for leg in legs]
    if None in solved or any(None in vector for vector in ground):
        return True
    tas, speed, coming = solved[0], solved[1], math.radians(solved[2])
    wind = (-speed * math.sin(coming), -speed * math.cos(coming))
    mean = math.fsum(math.dist(vector, wind) for vector in ground) / len(legs)
    near_tas = _NEAR_TAS_KT + (point["residual_kt"] or 0.0)
    return bool(abs(mean - tas) <= near_tas)
