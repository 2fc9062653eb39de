"""Small-sample covariance and degrees of freedom of the pooled fit.

With a handful of aircraft the spread between them is itself poorly known. The
covariance of the curve is corrected, and t limits get the degrees of freedom
that the spread's estimate really has. Source: M. G. Kenward, J. H. Roger,
Small sample inference for fixed effects from restricted maximum likelihood,
Biometrics 53 (1997); degrees of freedom by F. E. Satterthwaite's formula as
used there. Everything follows from the per-aircraft sums.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fleetcal.fleet.likelihood import GroupSums
from fleetcal.fleet.points import Array, Index
from fleetcal.fleet.sums import AircraftSums


@dataclass(frozen=True)
class Derivatives:
    """How the fit answers to the variance parameters.

    The parameters are the entries d11, d12, d22 of D, and phi last when it was
    estimated.

    Attributes
    ----------
    units : ndarray, shape (entries, k, k)
        dD/dparameter, zero matrix for phi.
    curve_slope : ndarray, shape (groups, parameters, p, p)
        C M C with M = X'V^-1 dV V^-1 X: derivative of the covariance C.
    parameter_covariance : ndarray, shape (parameters, parameters)
        Inverse of the expected information of the restricted likelihood.
    covariance : ndarray, shape (groups, p, p)
        Corrected covariance of beta.
    """

    units: Array
    curve_slope: Array
    parameter_covariance: Array
    covariance: Array

    def degrees_of_freedom(self, variance: float, gradient: Array) -> float:
        """Return Satterthwaite degrees of freedom of an estimated variance.

        Parameters
        ----------
        variance : float
        gradient : ndarray, shape (parameters,)
            Its derivative by the variance parameters.

        Returns
        -------
        float
            At least 1.
        """
        spread = float(gradient @ self.parameter_covariance @ gradient)
        if spread <= 0.0:
            return np.inf
        return max(2.0 * variance**2 / spread, 1.0)

    def mean_gradient(self, group: int, x: Array) -> Array:
        """Return the derivative of x'Cx by the variance parameters."""
        gradient: Array = np.einsum("i,mij,j->m", x, self.curve_slope[group], x)
        return gradient

    def spread_gradient(self, z: Array) -> Array:
        """Return the derivative of z'Dz by the variance parameters."""
        gradient: Array = np.einsum("i,mij,j->m", z, self.units, z)
        return gradient


def departure_units(size: int) -> Array:
    """Return dD/dparameter for the free entries of a symmetric matrix.

    Parameters
    ----------
    size : int
        k, the size of D.

    Returns
    -------
    ndarray, shape (k*(k+1)/2, k, k)
    """
    units = []
    for i, j in zip(*np.tril_indices(size), strict=True):
        unit = np.zeros((size, size))
        unit[i, j] = unit[j, i] = 1.0
        units.append(unit)
    return np.array(units)


def derivatives(
    sums: AircraftSums, solved: GroupSums, spread: Array, phi: float, phi_free: bool
) -> Derivatives:
    """Return corrected covariances and the information on the variance parameters.

    Parameters
    ----------
    sums : AircraftSums
    solved : GroupSums
        At `spread` and `phi`.
    spread : ndarray, shape (k, k)
        D.
    phi : float
    phi_free : bool
        Whether phi was estimated rather than held at 1.

    Returns
    -------
    Derivatives
    """
    units = departure_units(len(spread))
    pieces = _Pieces(sums.group_of, solved, units)
    information = pieces.information()
    m_all, n_all = pieces.m, pieces.n
    if phi_free:
        information, m_all, n_all = _with_phi(pieces, sums, solved, spread, phi, information)
    parameter_covariance: Array = np.asarray(np.linalg.pinv(information, hermitian=True), float)
    c = solved.covariance
    slope = np.einsum("gij,gmjk,gkl->gmil", c, m_all, c)
    inner = n_all - np.einsum("gaij,gjk,gbkl->gabil", m_all, c, m_all)
    excess = np.einsum("ab,gabij->gij", parameter_covariance, inner)
    excess = (excess + np.swapaxes(excess, 1, 2)) / 2.0
    corrected = c + 2.0 * np.einsum("gij,gjk,gkl->gil", c, excess, c)
    if phi_free:
        units = np.concatenate([units, np.zeros((1, *units.shape[1:]))])
    return Derivatives(units, slope, parameter_covariance, _not_smaller(corrected, c))


def _not_smaller(corrected: Array, plain: Array) -> Array:
    """Return the corrected covariance, never below the plain one in any direction."""
    gain, axes = np.linalg.eigh(corrected - plain)
    gain = np.maximum(gain, 0.0)
    return np.asarray(plain + np.einsum("gij,gj,gkj->gik", axes, gain, axes))


class _Pieces:
    """M and N sums of the Kenward-Roger formulae, per group."""

    def __init__(self, group_of: Index, solved: GroupSums, units: Array) -> None:
        k = units.shape[1]
        weighted = solved.weighted[:, :-1, :-1]
        self.t = weighted[:, :k, :k]
        self.covariance = solved.covariance
        self.units = units
        cross = weighted[:, :k, :]
        groups, p = solved.beta.shape
        m_each = np.einsum("aik,mij,ajl->amkl", cross, units, cross)
        n_each = np.einsum("aik,mij,ajq,nqr,arl->amnkl", cross, units, self.t, units, cross)
        self.m = np.zeros((groups, len(units), p, p))
        self.n = np.zeros((groups, len(units), len(units), p, p))
        np.add.at(self.m, group_of, m_each)
        np.add.at(self.n, group_of, n_each)

    def information(self) -> Array:
        """Return half the traces tr(P V_i P V_j)."""
        return _half_traces(self)

    def projected_traces(self) -> Array:
        """Return tr(P V_i) of each unit."""
        whole = np.einsum("aij,mji->m", self.t, self.units)
        return np.asarray(whole - np.einsum("gij,gmji->m", self.covariance, self.m))


def _half_traces(pieces: _Pieces) -> Array:
    te = np.einsum("aij,mjk->amik", pieces.t, pieces.units)
    whole = np.einsum("amik,anki->mn", te, te)
    c = pieces.covariance
    once = np.einsum("gij,gmnji->mn", c, pieces.n)
    cm = np.einsum("gij,gmjk->gmik", c, pieces.m)
    twice = np.einsum("gmik,gnki->mn", cm, cm)
    return np.asarray(0.5 * (whole - (once + once.T) + twice))


def _with_phi(
    pieces: _Pieces,
    sums: AircraftSums,
    solved: GroupSums,
    spread: Array,
    phi: float,
    information: Array,
) -> tuple[Array, Array, Array]:
    """Append phi, whose dV is R = (V - Z D Z')/phi, to the M, N and information sums."""
    entries = spread[np.tril_indices(len(spread))]
    free = int(sums.count.sum()) - solved.beta.size
    cross = (pieces.projected_traces() / 2.0 - information @ entries) / phi
    own = (free / 2.0 - entries @ pieces.projected_traces() + entries @ information @ entries) / (
        phi**2
    )
    size = len(entries) + 1
    grown = np.zeros((size, size))
    grown[:-1, :-1] = information
    grown[:-1, -1] = grown[-1, :-1] = cross
    grown[-1, -1] = own
    m_phi = (solved.curve - np.einsum("m,gmij->gij", entries, pieces.m)) / phi
    m = np.concatenate([pieces.m, m_phi[:, None]], axis=1)
    n = np.zeros((len(m), size, size, *m.shape[2:]))
    n[:, :-1, :-1] = pieces.n
    with_d = np.einsum("m,gmnij->gnij", entries, pieces.n)
    n[:, -1, :-1] = (pieces.m - with_d) / phi
    n[:, :-1, -1] = np.swapaxes(n[:, -1, :-1], 2, 3)
    both = np.einsum("n,gnij->gij", entries, with_d)
    n[:, -1, -1] = (
        solved.curve - 2.0 * np.einsum("m,gmij->gij", entries, pieces.m) + both
    ) / phi**2
    return grown, m, n
