"""Generalised least-squares sums of many aircraft at many D, as a few matrix products.

With O = Z'R^-1Z of an aircraft, W'V^-1W needs (I + O D)^-1 only. Of one or two
coefficients it is an adjugate over det(I + O D), so every entry is a sum over products
of an entry of D, a number of the aircraft and one over that determinant. Summed over
aircraft, that is one matrix product of nodes by aircraft with aircraft by numbers. The
rows of Z come without any difference, whose digits a large D would use up.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np

from fleetcal.fleet.points import Array


@dataclass(frozen=True, kw_only=True)
class NodePieces:
    """What W'V^-1W is put together from, of aircraft or summed over them.

    Attributes:
        own (..., k, k): O.
        own_determinant (...): det O; zero for one coefficient, where no adjugate is needed.
        cross (..., k, m): C, the other columns of the rows of Z.
        turned (..., k, m): adj(O) C.
        pairs (..., k, k, m, m): Products of the rows of C.
        square (..., m, m): C' adj(O) C.
    """

    own: Array
    own_determinant: Array
    cross: Array
    turned: Array
    pairs: Array
    square: Array


def node_pieces(products: Array, k: int) -> NodePieces:
    """Return the pieces of each aircraft.

    Args:
        products (aircraft, p + 1, p + 1): W'R^-1W.
        k: Coefficients of a departure, 1 or 2.
    """
    own, cross = products[:, :k, :k], products[:, :k, k:]
    pairs = np.einsum("aim,ajn->aijmn", cross, cross)
    if k == 1:
        nothing = np.zeros_like(cross)
        return NodePieces(
            own=own,
            own_determinant=np.zeros(len(own)),
            cross=cross,
            turned=nothing,
            pairs=pairs,
            square=np.zeros_like(pairs[:, 0, 0]),
        )
    determinant = own[:, 0, 0] * own[:, 1, 1] - own[:, 0, 1] * own[:, 1, 0]
    turned = adjugate(own) @ cross
    return NodePieces(
        own=own,
        own_determinant=determinant,
        cross=cross,
        turned=turned,
        pairs=pairs,
        square=np.swapaxes(cross, 1, 2) @ turned,
    )


def adjugate(matrix: Array) -> Array:
    """Return the adjugate of 2 x 2 matrices, shape (..., 2, 2)."""
    turned = np.empty_like(matrix)
    turned[..., 0, 0], turned[..., 1, 1] = matrix[..., 1, 1], matrix[..., 0, 0]
    turned[..., 0, 1], turned[..., 1, 0] = -matrix[..., 0, 1], -matrix[..., 1, 0]
    return turned


def node_determinants(products: Array, spread: Array) -> Array:
    """Return det(I + D O), shape (nodes, aircraft)."""
    if spread.shape[1] == 1:
        return np.asarray(1.0 + spread[:, 0] * products[:, 0, 0])
    a, b, c = products[:, 0, 0], products[:, 0, 1], products[:, 1, 1]
    d, e, f = spread[:, 0, 0], spread[:, 0, 1], spread[:, 1, 1]
    of_node = np.stack([np.ones_like(d), d, 2.0 * e, f, d * f - e**2], axis=1)
    return np.asarray(of_node @ np.stack([np.ones_like(a), a, b, c, a * c - b**2]))


def shared_pieces(pieces: NodePieces, share: Array) -> NodePieces:
    """Return the pieces of each aircraft times the share of each node.

    Args:
        pieces: Of aircraft.
        share (nodes, aircraft): One over the determinant.

    Returns:
        Shapes (nodes, aircraft, ...).
    """
    arrays = {field.name: getattr(pieces, field.name) for field in fields(pieces)}
    return NodePieces(
        **{name: share.reshape(*share.shape, *[1] * (a.ndim - 1)) * a for name, a in arrays.items()}
    )


def summed_pieces(pieces: NodePieces, share: Array) -> NodePieces:
    """Return the pieces summed over aircraft with the shares of each node.

    Args:
        pieces: Of aircraft.
        share (nodes, aircraft): One over the determinant.

    Returns:
        Of nodes.
    """
    names = [field.name for field in fields(pieces)]
    arrays = [getattr(pieces, name) for name in names]
    flat = np.concatenate([a.reshape(len(a), -1) for a in arrays], axis=1)
    parts = np.split(share @ flat, np.cumsum([a[0].size for a in arrays])[:-1], axis=1)
    shaped = [p.reshape(-1, *a.shape[1:]) for p, a in zip(parts, arrays, strict=True)]
    return NodePieces(**dict(zip(names, shaped, strict=True)))


def join_blocks(rest: Array, pieces: NodePieces, spread: Array) -> Array:
    """Return W'V^-1W from pieces that carry one over the determinant already.

    Args:
        rest (..., m, m): The block of W'R^-1W beside the rows of Z.
        spread (..., k, k): D.

    Returns:
        Shape (..., p + 1, p + 1).
    """
    k, m = pieces.cross.shape[-2:]
    joined = np.empty(
        (*np.broadcast_shapes(pieces.own.shape[:-2], spread.shape[:-2]), k + m, k + m)
    )
    used = np.einsum("...ij,...ijmn->...mn", spread, pieces.pairs)
    if k == 1:
        joined[..., :1, :1], joined[..., :1, 1:] = pieces.own, pieces.cross
    else:
        turned = adjugate(spread)
        determinant = spread[..., 0, 0] * spread[..., 1, 1] - spread[..., 0, 1] * spread[..., 1, 0]
        joined[..., :2, :2] = pieces.own + pieces.own_determinant[..., None, None] * turned
        joined[..., :2, 2:] = pieces.cross + turned @ pieces.turned
        used = used + determinant[..., None, None] * pieces.square
    joined[..., k:, :k] = np.swapaxes(joined[..., :k, k:], -1, -2)
    joined[..., k:, k:] = rest - used
    return joined
