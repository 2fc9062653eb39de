"""Logs in which runs that cannot be solved stand before, between and after those that can."""

from __future__ import annotations

import numpy as np

from tests.cli.invented_sortie import Card, Sortie, Truth, fly, log_text

#: Airspeed in kt, legs and engine power in % of each run: a level-off after the climb, two runs
#: to solve with a short hop between them, and a level-off before the descent.
FLOWN = ((80.0, 1, 75.0), (120.0, 4, 72.0), (95.0, 1, 55.0), (75.0, 4, 38.0), (105.0, 1, 62.0))
POWER = "Engine Power (%)"
#: Numbers of the runs that can be solved, with the power that they were flown at.
SOLVED = {2: 72.0, 4: 38.0}


def level_off_sortie(flown: tuple[tuple[float, int, float], ...] = FLOWN, seed: int = 1) -> Sortie:
    """Fly runs of so many legs, one leg being a level-off."""
    card = Card(airspeeds_kt=tuple(run[0] for run in flown), legs_of=tuple(run[1] for run in flown))
    return fly(card, Truth(roughness=0.3), seed)


def level_off_log(flown: tuple[tuple[float, int, float], ...] = FLOWN, seed: int = 1) -> str:
    """Return such a flight as a log with a column of engine power."""
    sortie = level_off_sortie(flown, seed)
    # The engine is set when a change of airspeed begins, so that it is the same over a whole run.
    parts = [np.full(60, 20.0)]
    for _, legs, power in flown:
        parts.append(np.full(90 + legs * (60 + round(360.0 / legs / 3.0)), power))
    return log_text(sortie, more={POWER: np.concatenate(parts)})
