"""A joint covariance as one part of each point alone and a few parts that all share.

The points of a flight err together, since one wind misleads them all. A store of points keeps
that as terms with one unknown value for the sortie: principal factors of the covariance
(H. H. Harman, Modern Factor Analysis, 1976, chapter 8, from memory). The variances come out
exactly, the covariances of a flight of four points or fewer nearly so.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from fleetcal.airdata.atmosphere import Array

#: Parts that are shared; a drift to the east, one to the north and a wander make three.
MOST_PARTS: Final = 3
_ROUNDS: Final = 100


def shared_parts(covariance: Array) -> tuple[Array, Array]:
    """Split a covariance.

    Args:
        covariance (points, points): Positive definite.

    Returns:
        own (points,), shared (points, parts): Standard uncertainties of what each point has alone,
        and signed ones of the shared parts; no parts for a point by itself.
    """
    size = np.sqrt(np.diag(covariance))
    points = len(size)
    if points == 1:
        return size, np.zeros((1, 0))
    correlation = covariance / np.outer(size, size)
    count = min(MOST_PARTS, points - 1)
    alone = 1.0 / np.diag(np.linalg.inv(correlation))
    shared = np.zeros((points, count))
    for _ in range(_ROUNDS):
        value, vector = np.linalg.eigh(correlation - np.diag(alone))
        shared = vector[:, -count:] * np.sqrt(np.maximum(value[-count:], 0.0))
        found = np.clip(1.0 - (shared**2).sum(axis=1), 1e-9, 1.0)
        settled = np.abs(found - alone).max() < 1e-9
        alone = found
        if settled:
            break
    rest = (shared**2).sum(axis=1) + alone
    shared, alone = shared / np.sqrt(rest)[:, None], alone / rest
    return size * np.sqrt(alone), size[:, None] * shared[:, ::-1]
