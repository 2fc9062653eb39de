"""Measure the fleet statistics on invented fleets: python -m tests.fleet.simulations.

Prints coverage of the two 95 % bands, the chance of a false flag in clean
groups, and the power against a judge who knows the truth, each with its Monte
Carlo standard error. Seeds are fixed: the same command prints the same table.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Iterator
from concurrent.futures import Executor
from dataclasses import replace
from functools import partial
from itertools import product

import numpy as np

from .bands import LOOKED_AT_KT, covered
from .campaign import outcomes, rates, workers
from .climbs import KINDS, flagged_clean, held, recorded
from .comparisons import changed, changed_on_several
from .cruise import CruisePlan, cruise_held
from .flags import flagged
from .group_lines import contrast_lines, pairing_lines
from .invented_fleet import Plan
from .lasting import WAYS, LastingPlan, lasting_held
from .left_out import covered_without_outside
from .odd_ones import MIXED_MODEL_EVERY, found_by_each
from .odd_ones import WAYS as WAYS_TO_FIND
from .own_curves import own_lines
from .plan_shows import change_lines, gain_lines, standing_lines
from .second_opinions import agreeing
from .shapes import shape_lines
from .two_groups import cluster_lines
from .watched import Season, alarmed, found_soon

GROUP_SIZES = (6, 10, 30)
PLAIN = Plan(aircraft=10)
ALIKE = Plan(aircraft=10, spread_kt=0.2, tilt=0.005)
RAGGED = Plan(aircraft=10, ragged=True)
#: Lines do not share their seeds.
SEEDS_A_LINE = 1_000_000
JUDGES = "p-value alone | and at least 2 kt | judge who knows | exact test"


def show_bands(fleets: int, pool: Executor) -> Iterator[str]:
    """Yield a line for each kind of fleet, size of group and choice of order."""
    at = ", ".join(f"{speed:.0f}" for speed in LOOKED_AT_KT)
    yield f"coverage of the 95 % bands at {at} kt, %: mean curve | next aircraft"
    kinds = [
        ("spread 1 kt", 1, PLAIN),
        ("spread 1 kt", None, PLAIN),
        ("spread 0.2 kt", None, ALIKE),
        ("ragged", None, RAGGED),
        ("bent curve", 2, replace(PLAIN, bend=0.2)),
        ("bent curve", None, replace(PLAIN, bend=0.2)),
        ("three groups", None, replace(PLAIN, groups=3)),
    ]
    for line, ((name, order, plan), aircraft) in enumerate(product(kinds, GROUP_SIZES)):
        seed = line * SEEDS_A_LINE
        sized = replace(plan, aircraft=aircraft)
        share, error = rates(covered, sized, order, fleets, seed, pool)
        told = [f"{100 * s:5.1f}" for s in share]
        yield (
            f"  {name:13} {aircraft:3} aircraft, order {_order(order)}: "
            f"{' '.join(told[:3])} | {' '.join(told[3:])}  (+- {100 * max(error):.1f})"
        )


def show_clean(fleets: int, pool: Executor) -> Iterator[str]:
    """Yield the chance of any false flag in clean groups."""
    yield f"clean groups, chance of any false flag, %: {JUDGES}"
    kinds = [("spread 1 kt", PLAIN), ("spread 0.2 kt", ALIKE), ("ragged", RAGGED)]
    sizes = [*product(kinds, GROUP_SIZES), (("three groups", replace(PLAIN, groups=3)), 10)]
    for line, ((name, plan), aircraft) in enumerate(sizes):
        seed = (100 + line) * SEEDS_A_LINE
        sized = replace(plan, aircraft=aircraft)
        share, error = rates(flagged, sized, None, fleets, seed, pool)
        told = " | ".join(f"{100 * s:5.2f}" for s in share[1::2])
        yield f"  {name:13} {aircraft:3} aircraft: {told}  (+- {100 * np.nanmax(error[1::2]):.2f})"


def show_power(fleets: int, pool: Executor) -> Iterator[str]:
    """Yield how often offset aircraft are found."""
    yield f"all offset aircraft flagged, %: {JUDGES}"
    kinds = [
        ("one of 10 by 5 kt", Plan(aircraft=10, offsets_kt=(5.0,))),
        ("one of 10 by 5 kt, in 3 groups of 10", Plan(aircraft=10, groups=3, offsets_kt=(5.0,))),
        ("two of 12 by 5 kt", Plan(aircraft=12, offsets_kt=(5.0, 5.0))),
        (
            "two of 12 by 5 kt, in 3 groups of 12",
            Plan(aircraft=12, groups=3, offsets_kt=(5.0, 5.0)),
        ),
    ]
    for line, (name, plan) in enumerate(kinds):
        seed = (200 + line) * SEEDS_A_LINE
        share, error = rates(flagged, plan, None, fleets, seed, pool)
        told = " | ".join(f"{100 * s:5.1f}" for s in share[::2])
        yield (
            f"  {name:36}: {told}  (+- {100 * np.nanmax(error):.1f}); others flagged "
            f"{100 * share[1]:.1f}; {100 * share[0] / share[4]:.0f} % of the judge who knows"
        )


def show_odd(fleets: int, pool: Executor) -> Iterator[str]:
    """Yield how often odd aircraft are found, beside what a club could do instead."""
    yield "odd aircraft, supposed spread 1 kt: all of them found | a sound one called odd, %, by"
    yield f"  {' / '.join(WAYS_TO_FIND)} (one fleet in {MIXED_MODEL_EVERY}, so 3 times less sure)"
    one, two = (5.0,), (5.0, 5.0)
    unbalanced = Plan(aircraft=10, ragged=True, bend=0.3, sortie_kt=0.6, offsets_kt=one)
    kinds = [
        ("one of 10 by 5 kt", Plan(aircraft=10, offsets_kt=one)),
        ("two of 12 by 5 kt", Plan(aircraft=12, offsets_kt=two)),
        ("one of 10, unbalanced", unbalanced),
        *((f"clean {count}", Plan(aircraft=count)) for count in GROUP_SIZES),
        ("clean 10, heavy tails", Plan(aircraft=10, tails="heavy")),
        ("clean 10, skewed", Plan(aircraft=10, tails="skewed")),
    ]
    for line, (spread, (name, plan)) in enumerate(product((1.0, 2.0, 0.5), kinds)):
        seed = (1400 + line) * SEEDS_A_LINE
        plan = replace(plan, spread_kt=spread, tilt=0.03 * spread)
        values = outcomes(found_by_each, plan, None, fleets, seed, pool)
        share = 100.0 * np.nanmean(values, axis=0).reshape(-1, 2)
        pairs = share[:, 1:] if not plan.offsets_kt else share
        shown = " / ".join(" | ".join(f"{one:.1f}" for one in pair) for pair in pairs)
        spread_of_mean = np.nanvar(values, axis=0) / np.isfinite(values).sum(axis=0)
        error = 100.0 * np.sqrt(spread_of_mean[: 2 * (len(WAYS_TO_FIND) - 1)]).max()
        yield f"  true spread {spread} kt, {name:22}: {shown}  (+- {error:.1f})"


def show_own(fleets: int, pool: Executor) -> Iterator[str]:
    """Yield how often an aircraft's own curve holds."""
    yield from own_lines(fleets, pool, 1700 * SEEDS_A_LINE, SEEDS_A_LINE)


def show_clusters(fleets: int, pool: Executor) -> Iterator[str]:
    """Yield how often a group is called two in one."""
    yield from cluster_lines(fleets, pool, 1500 * SEEDS_A_LINE, SEEDS_A_LINE)


def show_left_out(fleets: int, pool: Executor) -> Iterator[str]:
    """Yield the coverage of the bands once the aircraft found outside have left the pool."""
    yield (
        "aircraft found outside left out, bands as printed; coverage at 75, 100, 130 kt, %: mean "
        "curve | next aircraft | one that belongs was left out, % | half width of the mean, kt"
    )
    kinds = [
        ("clean", PLAIN),
        ("clean", replace(PLAIN, aircraft=6)),
        ("clean", replace(PLAIN, aircraft=30)),
        ("clean, ragged", RAGGED),
        ("clean, three groups", replace(PLAIN, groups=3)),
        ("one off by 8 kt", replace(PLAIN, offsets_kt=(8.0,))),
        ("one off by 8 kt, ragged", replace(RAGGED, offsets_kt=(8.0,))),
        ("one off by 4 kt", replace(PLAIN, offsets_kt=(4.0,))),
        ("one off by 8 kt, three groups", replace(PLAIN, groups=3, offsets_kt=(8.0,))),
    ]
    for line, (name, plan) in enumerate(kinds):
        seed = (900 + line) * SEEDS_A_LINE
        share, error = rates(covered_without_outside, plan, None, fleets, seed, pool)
        told = [f"{100 * s:5.1f}" for s in share[:6]]
        yield (
            f"  {name:29} {plan.aircraft:3} aircraft: {' '.join(told[:3])} | {' '.join(told[3:])} "
            f"| {100 * share[6]:4.1f} | {share[7]:.2f}  (+- {100 * max(error[:7]):.1f})"
        )


def show_changes(fleets: int, pool: Executor) -> Iterator[str]:
    """Yield how often a change is found, where there is one and where there is none."""
    yield "change of one airframe, two sorties before and after: called a change, % | band holds, %"
    line = 300
    for spread, aircraft, shift in product((0.0, 0.5), (4, 10, 20), (0.0, 2.0)):
        plan = Plan(aircraft=aircraft, spread_kt=spread, tilt=0.02 * spread, bend=shift)
        share, error = rates(changed, plan, 1, fleets, line * SEEDS_A_LINE, pool)
        line += 1
        yield (
            f"  sorties differ by {spread} kt, {aircraft:2} other airframes, change {shift} kt: "
            f"{100 * share[0]:5.1f} | {100 * share[1]:5.1f}  (+- {100 * max(error):.1f})"
        )
    for airframes, shift in product((3, 6), (0.0, 2.0)):
        plan = Plan(aircraft=10, groups=airframes, spread_kt=0.5, tilt=0.01, bend=shift)
        share, error = rates(changed_on_several, plan, 1, fleets, line * SEEDS_A_LINE, pool)
        line += 1
        yield (
            f"  the same change on {airframes} airframes, change {shift} kt: "
            f"{100 * share[0]:5.1f} | {100 * share[1]:5.1f}  (+- {100 * max(error):.1f})"
        )


def show_groups(fleets: int, pool: Executor) -> Iterator[str]:
    """Yield how often groups are called different, and what shrinking pairings is worth."""
    yield from contrast_lines(fleets, pool, 400 * SEEDS_A_LINE, SEEDS_A_LINE)
    yield from pairing_lines(fleets, pool, 420 * SEEDS_A_LINE, SEEDS_A_LINE)


def show_climbs(fleets: int, pool: Executor) -> Iterator[str]:
    """Yield the coverage of best speeds, from points and from recordings."""
    yield "best speeds: told, % | interval of those told holds the truth, % | band of the rate, %"
    line = 800
    for kind, aircraft in product(KINDS, (6, 10)):
        plan, seed = Plan(aircraft=aircraft), line * SEEDS_A_LINE
        share, _ = rates(partial(held, kind), plan, None, fleets, seed, pool)
        for place, name in enumerate(KINDS[kind][1]):
            told = _of_told(share[3 * place : 3 * place + 3], fleets)
            yield f"  {name:19} {aircraft:2} aircraft: {told}"
        share, error = rates(partial(flagged_clean, kind), plan, None, fleets, seed, pool)
        told = f"{100 * share[0]:.1f}  (+- {100 * error[0]:.1f})"
        yield f"  clean {kind}s of {aircraft} aircraft, chance of any false flag, %: {told}"
        line += 1
    runs = max(fleets // 10, 10)
    for kind in KINDS:
        share, _ = rates(
            partial(recorded, kind), Plan(aircraft=6), None, runs, line * SEEDS_A_LINE, pool
        )
        line += 1
        for place, name in enumerate(KINDS[kind][1]):
            told = _of_told(share[2 * place : 2 * place + 2], runs)
            yield f"  {name:19} from recordings of 6 aircraft, {runs} fleets: {told}"


def _of_told(share: np.ndarray, fleets: int) -> str:
    """Return the share that is told, and of those the shares that hold."""
    holds = share[1:] / share[0]
    error = np.sqrt(np.maximum(holds * (1.0 - holds), 0.25 / fleets) / (fleets * share[0]))
    told = " | ".join(f"{100 * h:5.1f}" for h in holds)
    return f"{100 * share[0]:5.1f} | {told}  (+- {100 * max(error):.1f})"


def show_plan(fleets: int, pool: Executor) -> Iterator[str]:
    """Yield what planned sorties are worth, and whether promised widths hold."""
    yield from gain_lines(fleets, pool, 500 * SEEDS_A_LINE)


def show_promises(fleets: int, pool: Executor) -> Iterator[str]:
    """Yield whether promised chances of settling a question hold."""
    yield from standing_lines(fleets, pool, 600 * SEEDS_A_LINE)
    yield from change_lines(fleets, pool, 700 * SEEDS_A_LINE)


def show_shapes(fleets: int, pool: Executor) -> Iterator[str]:
    """Yield the coverage of the bands where the true curve is no quadratic."""
    yield from shape_lines(fleets, pool, 1400 * SEEDS_A_LINE, SEEDS_A_LINE)


def show_cruise(fleets: int, pool: Executor) -> Iterator[str]:
    """Yield how often the band of cruise true airspeed holds the truth, where a band is told."""
    yield "cruise: 95 % band of TAS holds the truth, %, at 75 % 4,000 ft, 65 % 8,000, 60 % 2,000"
    plans = [CruisePlan(aircraft=count) for count in (6, 10)]
    plans += [CruisePlan(aircraft=1, sorties=count, drag_spread=0.0) for count in (1, 3)]
    for line, plan in enumerate(plans):
        told, _ = rates(cruise_held, plan, 1, fleets, (500 + line) * SEEDS_A_LINE, pool)
        inside, given = told[:3], told[3:]
        share = inside / given
        error = np.sqrt(np.maximum(share * (1.0 - share), 0.25 / fleets) / (fleets * given))
        yield (
            f"  {plan.aircraft:2} aircraft, {plan.sorties} sorties each: "
            f"{' '.join(f'{100 * s:5.1f}' for s in share)}  (+- {100 * max(error):.1f}); no band "
            f"{' '.join(f'{100 * (1 - g):.1f}' for g in given)} %"
        )


def show_lasting(fleets: int, pool: Executor) -> Iterator[str]:
    """Yield what three ways make of indicator errors that stay from sortie to sortie."""
    yield "indicator errors that last, counted as errors of: mean band | next band hold, %;"
    yield "  half widths at 100 kt | own departure as read | of the port holds, % | found | false"
    line = 900
    for offsets, (true_kt, stated_kt), aircraft in product(
        ((), (5.0,)), ((0.3, 0.3), (0.3, 1.7), (1.7, 1.7), (1.7, 0.3)), GROUP_SIZES
    ):
        if offsets and aircraft != 10:
            continue
        fleet = Plan(aircraft=aircraft, sorties=4, offsets_kt=offsets)
        plan = LastingPlan(fleet, true_kt, stated_kt)
        yield f"  {aircraft:2} aircraft, off by {offsets}, true {true_kt}, stated {stated_kt} kt"
        for way, name in enumerate(WAYS):
            seed = line * SEEDS_A_LINE
            share, _ = rates(partial(lasting_held, way), plan, 1, fleets, seed, pool)
            held = " | ".join(f"{100 * s:5.1f}" for s in (*share[:2], *share[4:6]))
            found = f"{100 * share[6]:5.1f} | {100 * share[7]:5.1f}"
            error = 100 * np.sqrt(0.05 * 0.95 / fleets)
            yield (
                f"    {name:12}: {held}; {share[2]:.2f} | {share[3]:.2f} kt; {found}"
                f"  (+- {error:.1f} near 95, {50 / np.sqrt(fleets):.1f} near 50)"
            )
        line += 1
    for common_kt, aircraft in product((0.0, 0.5), GROUP_SIZES):
        plan = LastingPlan(Plan(aircraft=aircraft, sorties=4), common_kt=common_kt)
        seed = line * SEEDS_A_LINE
        share, error = rates(partial(lasting_held, 2), plan, 1, fleets, seed, pool)
        line += 1
        yield (
            f"  {aircraft:2} aircraft, an error of {common_kt} kt common to all: "
            f"{100 * share[0]:5.1f} | {100 * share[1]:5.1f}, {100 * share[7]:.1f} false"
            f"  (+- {100 * error[0]:.1f})"
        )


def _order(order: int | None) -> str:
    return "chosen" if order is None else f"{order:6}"


def show_second_opinion(fleets: int, pool: Executor) -> Iterator[str]:
    """Yield how often another program's curve lies within half of the mean's half width."""
    yield "second opinion within half of the half width of the mean's band, %; no second fit, %"
    kinds = [("spread 1 kt", PLAIN), ("spread 0.2 kt", ALIKE), ("ragged", RAGGED)]
    kinds += [("three groups, ragged", replace(RAGGED, groups=3))]
    for line, ((name, plan), aircraft) in enumerate(product(kinds, (6, 10))):
        seed = (900 + line) * SEEDS_A_LINE
        share, error = rates(agreeing, replace(plan, aircraft=aircraft), None, fleets, seed, pool)
        within, none = (100 * part for part in share)
        told = f"{within:5.1f} | {none:4.1f}  (+- {100 * error[0]:.1f})"
        yield f"  {name:20} {aircraft:3} aircraft: {told}"


def show_watch(fleets: int, pool: Executor) -> Iterator[str]:
    """Yield how often a watch raises a false alarm, and how soon and how well it finds a change."""
    yield "seasons without a change, %: any alarm | p-value below 5 % | a flight off by itself"
    plans = [(flights, 0.4, False) for flights in (12, 20, 40)]
    plans += [(20, 0.8, False), (20, 0.4, True)]
    for line, (flights, day_kt, supposed) in enumerate(plans):
        plan = Season(flights=flights, day_kt=day_kt, as_supposed=supposed)
        seed = (1200 + line) * SEEDS_A_LINE
        share, error = rates(alarmed, plan, None, fleets, seed, pool)
        kind = "as supposed" if supposed else "as they come"
        yield (
            f"  {flights} flights {kind}, days differ by {day_kt} kt: "
            f"{100 * share[0]:.2f} | {100 * share[1]:.1f} | {100 * share[2]:.1f}"
            f"  (+- {100 * error[0]:.2f}, {100 * error[1]:.1f})"
        )
    yield "a change, %: found within 3 | 5 flights | and dated within one | by the end | exactly |"
    yield "  of those found: truth in the set of places | size at 70, 100, 130 kt | more than one"
    changes = [(3.0, 20, 6, 0.4), (3.0, 20, 6, 0.8), (3.0, 12, 4, 0.4), (2.0, 20, 6, 0.4)]
    for line, (step_kt, flights, before, day_kt) in enumerate(changes):
        plan = Season(step_kt=step_kt, flights=flights, least_before=before, day_kt=day_kt)
        seed = (1300 + line) * SEEDS_A_LINE
        share, error = rates(found_soon, plan, None, fleets, seed, pool)
        soon = " | ".join(f"{100 * s:.1f}" for s in share[:5])
        held = " ".join(f"{100 * s / share[3]:.1f}" for s in share[5:10])
        yield (
            f"  {step_kt} kt, {flights} flights, {before} and more before, days differ by "
            f"{day_kt} kt: {soon} | {held}  (+- {100 * max(error[:5]):.1f})"
        )


SHOWS = {"bands": show_bands, "clean": show_clean, "power": show_power}
SHOWS |= {"changes": show_changes, "groups": show_groups, "climbs": show_climbs}
SHOWS |= {"promises": show_promises, "plan": show_plan, "left-out": show_left_out}
SHOWS |= {"cruise": show_cruise, "second-opinion": show_second_opinion}
SHOWS |= {"lasting": show_lasting, "watch": show_watch, "shapes": show_shapes}
SHOWS |= {"odd": show_odd, "clusters": show_clusters, "own": show_own}


def main() -> None:
    """Parse the command line and print."""
    parser = argparse.ArgumentParser(prog="python -m tests.fleet.simulations", description=__doc__)
    parser.add_argument(
        "what", nargs="*", metavar="WHAT", help=f"of {', '.join(SHOWS)}; all if none"
    )
    parser.add_argument("--fleets", type=int, default=1000, help="invented fleets a line")
    parser.add_argument("--processes", type=int, default=2)
    asked = parser.parse_args()
    unknown = set(asked.what) - set(SHOWS)
    if unknown:
        parser.error(f"no such simulation: {', '.join(sorted(unknown))}")
    with workers(asked.processes) as pool:
        for name in asked.what or SHOWS:
            started = time.monotonic()
            for line in SHOWS[name](asked.fleets, pool):
                print(line, flush=True)
            print(f"  ({asked.fleets} fleets a line, {time.monotonic() - started:.0f} s)")


if __name__ == "__main__":
    main()
