"""How often bad points and sorties are named, and good ones are not."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from fleetcal.fleet.own_agreement import Disagreement, own_disagreements
from fleetcal.fleet.points import FleetPoints, Index
from fleetcal.fleet.pooled import fit_fleet

from .invented_fleet import KAPPA_PER_KT, Plan, draw

OFF_KT = 5.0


@dataclass(frozen=True)
class Named:
    """What was named in an invented fleet, and what was planted in it."""

    planted: Index
    found: tuple[Disagreement, ...]

    @property
    def alone(self) -> bool:
        """Whether just the planted one was named, and nothing beside it."""
        return len(self.found) == 1 and self._hit() and not self.found[0].or_these

    def _hit(self) -> bool:
        return set(self.found[0].found.points) == set(self.planted)


def name_point(plan: Plan, seed: int) -> Named:
    """Put one point of the first aircraft off by 5 kt, and see what is named."""
    points, rng = _fleet(plan, seed)
    bad = np.array([rng.choice(np.flatnonzero(points.aircraft == 0))])
    speed_kt = 50.0 / np.sqrt(points.x[bad])
    return _name(plan, points, bad, 2.0 * OFF_KT / speed_kt)


def name_sortie(plan: Plan, seed: int) -> Named:
    """Put the first sortie off by 5 kt at 100 kt, and see what is named."""
    points, _ = _fleet(plan, seed)
    bad = np.flatnonzero(points.sortie == points.sortie[0])
    return _name(plan, points, bad, np.asarray(OFF_KT * KAPPA_PER_KT))


def name_nothing(plan: Plan, seed: int) -> Named:
    """See what is named where no point is bad."""
    points, _ = _fleet(plan, seed)
    return _name(plan, points, np.zeros(0, dtype=np.int64), np.zeros(0))


def _fleet(plan: Plan, seed: int) -> tuple[FleetPoints, np.random.Generator]:
    rng = np.random.default_rng(seed)
    return draw(plan, rng), rng


def _name(plan: Plan, points: FleetPoints, bad: Index, off: np.ndarray) -> Named:
    kappa = points.y.copy()
    kappa[bad] += off
    changed = replace(points, y=kappa)
    odd = frozenset(range(len(plan.offsets_kt)))
    return Named(bad, own_disagreements(changed, fit_fleet(changed), odd))
