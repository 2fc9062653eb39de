"""From doubts about the inputs to signed terms of kappa.

Each input is moved up and down by its standard uncertainty and half the change
of the result is the term, as JCGM 100:2008, 5.1.3, note 2 has it. No derivative
is written by hand, so none can disagree with the relation it belongs to.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from fleetcal.airdata.budget import Owner, Term

Inputs = Mapping[str, float]


@dataclass(frozen=True, kw_only=True)
class Doubt:
    """One reason why one input may be wrong.

    Attributes:
        name: Of the budget term. Doubts of one name are one term: independent values where the
            point owns them, else the same unknown value.
        of: The input.
        u: Standard uncertainty of the input, in its own unit.
        owner: All points of the owner have the same unknown value.
        note: The uncertainty in words.
    """

    name: str
    of: str
    u: float
    owner: Owner
    note: str = ""


def propagated_terms(
    kappa: Callable[[Inputs], float], inputs: Inputs, doubts: Sequence[Doubt]
) -> tuple[Term, ...]:
    """Return the budget terms that doubts about the inputs lead to.

    Args:
        kappa: The technique's relation.
        inputs: Values by name.
        doubts: Those with u = 0 give no term.

    Returns:
        One for each name, in the order of the doubts, all of kind 'B'.
    """
    terms: dict[str, Term] = {}
    for doubt in doubts:
        if doubt.u == 0.0:
            continue
        up = kappa({**inputs, doubt.of: inputs[doubt.of] + doubt.u})
        down = kappa({**inputs, doubt.of: inputs[doubt.of] - doubt.u})
        effect = (up - down) / 2.0
        before = terms.get(doubt.name)
        if before is None:
            terms[doubt.name] = Term(
                name=doubt.name, u_kappa=effect, owner=doubt.owner, kind="B", note=doubt.note
            )
        elif doubt.owner != "point":
            terms[doubt.name] = replace(before, u_kappa=before.u_kappa + effect)
        else:
            terms[doubt.name] = replace(before, u_kappa=float(np.hypot(before.u_kappa, effect)))
    return tuple(terms.values())


def mean_terms(each: Sequence[Sequence[Term]]) -> tuple[Term, ...]:
    """Return the terms of a mean from the terms of what was averaged.

    Args:
        each: One budget for each value that was averaged.

    Returns:
        Terms of the point alone as independent, the others averaged with their signs.
    """
    found: dict[str, list[Term]] = {}
    for terms in each:
        for term in terms:
            found.setdefault(term.name, []).append(term)
    return tuple(replace(same[0], u_kappa=_mean_effect(same, len(each))) for same in found.values())


def weighted_terms(
    first: Sequence[Term], second: Sequence[Term], weight: float
) -> tuple[Term, ...]:
    """Return the terms of a weighted mean of two values with inputs in common.

    Args:
        first, second: A name in both budgets is one and the same input.
        weight: Of the first; the second has the rest.
    """
    terms = {t.name: replace(t, u_kappa=weight * t.u_kappa) for t in first}
    for term in second:
        before = terms[term.name].u_kappa if term.name in terms else 0.0
        terms[term.name] = replace(term, u_kappa=before + (1.0 - weight) * term.u_kappa)
    return tuple(terms.values())


def _mean_effect(same: Sequence[Term], count: int) -> float:
    effects = [term.u_kappa for term in same]
    if same[0].owner != "point":
        return sum(effects) / count
    return float(np.sqrt(sum(effect**2 for effect in effects))) / count
