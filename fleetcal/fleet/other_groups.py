"""What groups whose curves nobody asks for tell of the spread, at many D at once.

A change of one airframe is held against how much sorties of all others differ: hundreds of
groups of a few sorties, of which nothing but their likelihood is needed. So the entries of
W'V^-1W are worked out one by one, each for all groups of one size and all D at a time, by
the formulas of `node_sums`, and the few coefficients are eliminated likewise. That takes a
fifteenth of the time of solving one group after the other.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from fleetcal.fleet.averaged import solve_total
from fleetcal.fleet.node_sums import node_determinants
from fleetcal.fleet.points import Array
from fleetcal.fleet.sums import AircraftSums

#: Numbers of one entry that are worked on at a time: few enough for a cache.
_AT_ONCE: Final = 20_000

#: Entries of symmetric matrices, by row and column, the column not beyond the row.
Entries = dict[tuple[int, int], Array]


def evidence_of_groups(sums: AircraftSums, spread: Array, phi: float) -> Array:
    """Return -2 log restricted likelihood of groups with a curve each, but for a constant.

    Args:
        sums: Every group's points determine its curve.
        spread: Shape (nodes, k, k).

    Returns:
        Shape (nodes,): Summed over the groups.
    """
    logs, misfit = evidence_apart(sums, spread / phi)
    return np.asarray(logs + free_of_groups(sums) * np.log(phi) + misfit / phi)


def free_of_groups(sums: AircraftSums) -> int:
    """Return how many points groups have beyond the coefficients of their curves."""
    coefficients: int = sums.products.shape[1] - 1
    return int(sums.count.sum()) - len(np.unique(sums.group_of)) * coefficients


def evidence_apart(sums: AircraftSums, spread: Array) -> tuple[Array, Array]:
    """Return the logarithms and the misfit of which the likelihood of groups consists.

    Args:
        sums: Every group's points determine its curve.
        spread (nodes, k, k): D over phi.

    Returns:
        Shape (nodes,) each, summed over the groups: log det V and log det X'V^-1X at phi = 1, and
        the weighted squares about the curves, which go with 1/phi.
    """
    nodes = len(spread)
    logs, misfit = np.full(nodes, float(sums.log_det.sum())), np.zeros(nodes)
    order = np.argsort(sums.group_of, kind="stable")
    sizes = np.bincount(sums.group_of)
    first = np.cumsum(sizes) - sizes
    step = max(1, _AT_ONCE // nodes)
    for size in np.unique(sizes[sizes > 0]):
        starts = first[sizes == size]
        for some in (starts[i : i + step] for i in range(0, len(starts), step)):
            products = sums.products[order[some[:, None] + np.arange(size)]]
            determinant = node_determinants(products.reshape(-1, *products.shape[2:]), spread)
            logs += np.log(determinant).sum(axis=1)
            share = np.ascontiguousarray(1.0 / determinant.T).reshape(len(some), size, nodes)
            of_curves, apart = _deviance(_entries(products, share, spread))
            logs += of_curves.sum(axis=0)
            misfit += apart.sum(axis=0)
    return logs, misfit


def _entries(products: Array, share: Array, spread: Array) -> Entries:
    """Return W'V^-1W of groups at every node.

    Args:
        products (groups, aircraft of each, p + 1, p + 1): W'R^-1W.
        share (groups, aircraft, nodes): One over the determinant.
        spread: Shape (nodes, k, k).

    Returns:
        Shape (groups, nodes), each.
    """
    k, size = spread.shape[1], products.shape[-1]
    further = range(k, size)
    pairs = [(m, n) for m in further for n in range(k, m + 1)]
    of_aircraft = _of_one(products, pairs) if k == 1 else _of_two(products, pairs)
    names = list(of_aircraft)
    summed = np.stack([of_aircraft[name] for name in names], axis=1) @ share
    of = {name: summed[:, place] for place, name in enumerate(names)}
    rest = {pair: products[..., *pair].sum(axis=1)[:, None] for pair in pairs}
    if k == 1:
        found = {(0, 0): of["a"]} | {(m, 0): of[f"c0{m}"] for m in further}
        d = spread[:, 0, 0]
        return found | {(m, n): rest[m, n] - d * of[f"p00{m}{n}"] for m, n in pairs}
    d, e, f = spread[:, 0, 0], spread[:, 0, 1], spread[:, 1, 1]
    found = {(0, 0): of["a"] + f * of["o"]}
    found[1, 0] = of["b"] - e * of["o"]
    found[1, 1] = of["c"] + d * of["o"]
    for m in further:
        found[m, 0] = of[f"c0{m}"] + f * of[f"t0{m}"] - e * of[f"t1{m}"]
        found[m, 1] = of[f"c1{m}"] - e * of[f"t0{m}"] + d * of[f"t1{m}"]
    determinant = d * f - e**2
    for m, n in pairs:
        used = d * of[f"p00{m}{n}"] + e * of[f"p01{m}{n}"] + f * of[f"p11{m}{n}"]
        found[m, n] = rest[m, n] - (used + determinant * of[f"q{m}{n}"])
    return found


def _of_one(products: Array, pairs: list[tuple[int, int]]) -> dict[str, Array]:
    """Return what one coefficient of departure needs of each aircraft."""
    found = {"a": products[..., 0, 0]}
    for m, n in pairs:
        found[f"c0{m}"] = products[..., 0, m]
        found[f"p00{m}{n}"] = products[..., 0, m] * products[..., 0, n]
    return found


def _of_two(products: Array, pairs: list[tuple[int, int]]) -> dict[str, Array]:
    """Return what two need: O, det O, C, adj(O) C, products of the rows of C, C' adj(O) C."""
    a, b, c = products[..., 0, 0], products[..., 0, 1], products[..., 1, 1]
    found = {"a": a, "b": b, "c": c, "o": a * c - b * b}
    for m, n in pairs:  # every m comes with every n up to it
        low, high = products[..., 0, m], products[..., 1, m]
        found[f"c0{m}"], found[f"c1{m}"] = low, high
        found[f"t0{m}"], found[f"t1{m}"] = c * low - b * high, a * high - b * low
        other_low, other_high = products[..., 0, n], products[..., 1, n]
        found[f"p00{m}{n}"] = low * other_low
        found[f"p01{m}{n}"] = low * other_high + high * other_low
        found[f"p11{m}{n}"] = high * other_high
        found[f"q{m}{n}"] = found[f"t0{m}"] * other_low + found[f"t1{m}"] * other_high
    return found


def _deviance(total: Entries) -> tuple[Array, Array]:
    """Return log det X'V^-1X and the misfit of each curve, as `solve_total` does.

    The entries are eliminated column by column, as Cholesky's factors are found.
    """
    size = 1 + max(row for row, _ in total)
    root: Entries = {}
    logs, misfit = np.zeros_like(total[0, 0]), np.zeros_like(total[0, 0])
    with np.errstate(invalid="ignore", divide="ignore"):
        for j in range(size):
            for i in range(j, size):
                left = total[i, j]
                for done in range(j):
                    left = left - root[i, done] * root[j, done]
                root[i, j] = left
            pivot = root[j, j]
            if j < size - 1:
                logs += np.log(pivot)
            else:
                misfit = pivot
            for i in range(j + 1, size):
                root[i, j] = root[i, j] / np.sqrt(pivot)
    lost = ~np.isfinite(logs + misfit)  # where rounding left no pivot
    if np.any(lost):
        filled = np.empty((int(lost.sum()), size, size))
        for (i, j), values in total.items():
            filled[:, i, j] = filled[:, j, i] = values[lost]
        logs[lost] = np.linalg.slogdet(filled[:, :-1, :-1])[1]
        misfit[lost] = solve_total(filled)[2] - logs[lost]
    return logs, misfit
