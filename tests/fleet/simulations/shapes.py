"""How often the bands hold where the true mean curve is no quadratic."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import Executor
from dataclasses import replace
from itertools import product
from typing import Final

import numpy as np

from fleetcal.fleet.model_checks import BEND_LEVEL, fit_checked

from .campaign import rates
from .invented_fleet import KAPPA_PER_KT, Plan, draw, lift_at, mean_curve, next_aircraft
from .true_shapes import SHAPES

#: Within the speeds flown, at them and between them.
LOOKED_AT_KT: Final = np.array([72.0, 80.0, 88.0, 100.0, 105.0, 115.0, 128.0, 137.0])
GROUP_SIZES: Final = (6, 10, 30)
SIZES_KT: Final = (0.3, 0.6)
STRAIGHT: Final = (("quadratic", Plan(aircraft=10)), ("its bend", Plan(aircraft=10, bend=0.2)))


def covered_where_shaped(plan: Plan, order: int | None, seed: int) -> tuple[float, ...]:
    """Return 1 where a band as printed holds the truth: mean, then next.

    Then whether the curve is called one that misses its points, and the half width of the mean
    band in knots at 100 kt, averaged over what is looked at.
    """
    rng = np.random.default_rng(seed)
    fit, (check,) = fit_checked(draw(plan, rng), order)
    lift = lift_at(LOOKED_AT_KT)
    mean, following = fit.mean_band(0, lift), fit.next_band(0, lift)
    truth, one_more = mean_curve(plan, lift), next_aircraft(plan, lift, rng)
    return (
        *((mean.low <= truth) & (truth <= mean.high)).astype(float),
        *((following.low <= one_more) & (one_more <= following.high)).astype(float),
        float(check.misfit.p_value < BEND_LEVEL),
        float(np.mean(mean.high - mean.low)) / (2.0 * KAPPA_PER_KT),
    )


def shape_lines(fleets: int, pool: Executor, first_seed: int, apart: int) -> Iterator[str]:
    """Yield a line for each true shape, its size and size of group.

    Args:
        apart: Seeds that a line may use.
    """
    at = ", ".join(f"{speed:.0f}" for speed in LOOKED_AT_KT)
    yield f"true curves of other shapes, coverage of the 95 % bands at {at} kt, %:"
    yield "  mean curve, all | worst speed | next aircraft, all | worst speed |"
    yield "  curve called missing its points, % | half width of the mean, kt"
    kinds = [*STRAIGHT]
    kinds += [
        (f"{shape}, {off_kt} kt off", Plan(aircraft=10, shape=shape, off_kt=off_kt))
        for shape, off_kt in product(SHAPES, SIZES_KT)
    ]
    for line, ((name, plan), aircraft) in enumerate(product(kinds, GROUP_SIZES)):
        sized, seed = replace(plan, aircraft=aircraft), first_seed + line * apart
        share, error = rates(covered_where_shaped, sized, None, fleets, seed, pool)
        count = len(LOOKED_AT_KT)
        yield (
            f"  {name:19} {aircraft:3} aircraft: {_all_and_worst(share[:count])} | "
            f"{_all_and_worst(share[count : 2 * count])} | {100 * share[-2]:4.1f} | "
            f"{share[-1]:.2f}  (+- {100 * max(error[: 2 * count]):.1f})"
        )


def _all_and_worst(share: np.ndarray) -> str:
    worst = int(np.argmin(share))
    return (
        f"{100 * np.mean(share):5.1f} | {100 * share[worst]:5.1f} at {LOOKED_AT_KT[worst]:3.0f} kt"
    )
