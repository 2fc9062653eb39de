"""Position corrections that follow from kappa, with both kinds of uncertainty."""

from __future__ import annotations

from typing import Any

import numpy as np

from fleetcal.airdata.position_error import corrections
from fleetcal.units import from_si


def coverage_factor(degrees_of_freedom: float) -> float:
    """Return the factor from a standard to an expanded uncertainty of 95 %.

    Args:
        degrees_of_freedom: Effective; infinite is allowed.

    Returns:
        Student's t (JCGM 100:2008, G.3 and G.4).
    """
    from scipy.special import ndtri, stdtrit

    if not np.isfinite(degrees_of_freedom):
        return float(ndtri(0.975))
    return float(stdtrit(degrees_of_freedom, 0.975))


def corrections_found(
    airspeed_mps: float,
    altitude_m: float,
    kappa: float,
    u_kappa: float,
    degrees_of_freedom: float,
) -> dict[str, Any]:
    """Return kappa and the corrections in knots and feet, by the names of their columns.

    Args:
        airspeed_mps, altitude_m: Vic and Hic.

    Returns:
        ``kappa``, ``dvpc_kt`` and ``dhpc_ft``, each with ``u_`` and ``U95_``.
    """
    moved = corrections(airspeed_mps, altitude_m, kappa)
    factor = coverage_factor(degrees_of_freedom)
    u_dvpc = from_si(u_kappa * abs(float(moved.airspeed_per_kappa_mps)), "kt")
    u_dhpc = from_si(u_kappa * abs(float(moved.altitude_per_kappa_m)), "ft")
    return {
        "degrees_of_freedom": degrees_of_freedom if np.isfinite(degrees_of_freedom) else None,
        "kappa": kappa,
        "u_kappa": u_kappa,
        "U95_kappa": factor * u_kappa,
        "dvpc_kt": from_si(float(moved.airspeed_mps), "kt"),
        "u_dvpc_kt": u_dvpc,
        "U95_dvpc_kt": factor * u_dvpc,
        "dhpc_ft": from_si(float(moved.altitude_m), "ft"),
        "u_dhpc_ft": u_dhpc,
        "U95_dhpc_ft": factor * u_dhpc,
    }
