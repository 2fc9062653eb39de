"""A season of one airframe whose static line begins to leak: its flights, as a table of points."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any, Final

import numpy as np

from seed_demo.fleet import Airframe
from seed_demo.older_points import HEADINGS
from seed_demo.truth import LEAK

SEASON_SEED: Final = 2207
SEASON_TAG: Final = "C-07"
FLIGHTS: Final = 18
FIRST_LEAKING: Final = 11
BEGINS: Final = date(2025, 4, 5)
#: What a day adds to every point of a flight, and what a point has of its own, kt.
DAY_KT, POINT_KT = 0.3, 0.4


def season_days() -> list[date]:
    """Return the days of the flights: every week or two."""
    rng = np.random.default_rng((SEASON_SEED, 0))
    apart = rng.integers(5, 13, FLIGHTS)
    return [BEGINS + timedelta(days=int(days)) for days in np.cumsum(apart)]


def season_text(fleet: tuple[Airframe, ...]) -> str:
    """Return the table of points (CSV), three to five a flight at speeds that came about."""
    rng = np.random.default_rng((SEASON_SEED, 1))
    airframe = next(one for one in fleet if one.tag == SEASON_TAG)
    columns = [name for name in HEADINGS if name != "technique"]
    lines = [",".join(columns)]
    for flight, day in enumerate(season_days(), start=1):
        curve = airframe.true_curve(day)
        curve = curve + LEAK if flight >= FIRST_LEAKING else curve
        of_the_day = DAY_KT * float(rng.standard_t(5))
        for speed in np.sort(rng.uniform(65.0, 125.0, rng.integers(3, 6))):
            vic_kt, weight_kg = round(float(speed), 1), float(rng.integers(500, 600))
            seen = curve.correction_kt(vic_kt, weight_kg) + of_the_day
            seen += POINT_KT * float(rng.standard_normal())
            lines.append(
                f"{SEASON_TAG},{day},{flight},{weight_kg:.0f},{vic_kt:.1f},3000,{seen:.2f},"
                f"{POINT_KT}"
            )
    return "\n".join(lines) + "\n"


def season_verdict(found: dict[str, Any]) -> str:
    """Hold what a watch found against what was planted.

    Args:
        found: The watch as JSON.
    """
    planted = f"planted: a leak between flights {FIRST_LEAKING - 1} and {FIRST_LEAKING}"
    places = ", ".join(
        f"between flights {one['last_flight_before']} and {one['first_flight_after']}"
        for one in found["changes"]
    )
    return f"{planted}; found: {places or 'nothing'}"
