"""What an instrument that was never on a bench may be wrong by, and how far one drifts after.

Altimeter: 14 CFR part 43, appendix E, table I, which a test every 24 months has to
find kept (14 CFR 91.411(a)(1), seen). The figures of the table are from memory,
supported by the 20 ft near sea level, which was seen quoted. Airspeed indicator:
no rule for one in service is known to us; the tolerance of new equipment in SAE
AS8002A, table 3, for the airspeed of an air data computer stands in, seen quoted
in an installation manual. Nothing makes one value within a tolerance likelier than
another, so it is a uniform distribution: JCGM 100:2008, 4.3.7.
"""

from __future__ import annotations

from typing import Final

import numpy as np
import numpy.typing as npt

from fleetcal.airdata.atmosphere import Array
from fleetcal.units import M_PER_FT, MPS_PER_KT

AIRSPEED_SOURCE: Final = "SAE AS8002A table 3, of new equipment"
ALTITUDE_SOURCE: Final = "14 CFR part 43 appendix E table I"
#: kt, +- kt.
_AIRSPEED: Final = ((50.0, 5.0), (80.0, 3.0), (100.0, 2.0), (200.0, 2.0))
#: ft, +- ft.
_ALTITUDE: Final = (
    *((-1000.0, 20.0), (1000.0, 20.0), (1500.0, 25.0), (2000.0, 30.0), (3000.0, 30.0)),
    *((4000.0, 35.0), (6000.0, 40.0), (8000.0, 60.0), (10000.0, 80.0), (12000.0, 90.0)),
    *((14000.0, 100.0), (16000.0, 110.0), (18000.0, 120.0), (20000.0, 130.0), (22000.0, 140.0)),
    *((25000.0, 155.0), (30000.0, 180.0), (35000.0, 205.0), (40000.0, 230.0), (50000.0, 280.0)),
)
#: Months for which the rules trust a test.
TRUSTED_MONTHS: Final = 24.0
#: What an instrument drifts in that time, as a share of the tolerance's standard
#: uncertainty: common practice without a published source.
DRIFT_SHARE: Final = 1.0 / 3.0


def airspeed_tolerance(airspeed_mps: npt.ArrayLike) -> Array:
    """Return how wrong an airspeed indicator may be, either way.

    Args:
        airspeed_mps (array_like, any shape): As it reads, m/s.

    Returns:
        Same shape: m/s.
    """
    return _between(airspeed_mps, _AIRSPEED, MPS_PER_KT)


def altimeter_tolerance(altitude_m: npt.ArrayLike) -> Array:
    """Return how wrong an altimeter may be, either way.

    Args:
        altitude_m (array_like, any shape): Pressure altitude, m.

    Returns:
        Same shape: m.
    """
    return _between(altitude_m, _ALTITUDE, M_PER_FT)


def u_or_tolerance(u: float, tolerance: npt.ArrayLike) -> Array:
    """Return a standard uncertainty, from the tolerance where none is known.

    Args:
        u: NaN where the instrument was never on a bench.
        tolerance: Any shape.

    Returns:
        Same shape.
    """
    width = np.asarray(tolerance, dtype=np.float64)
    return width / np.sqrt(3.0) if np.isnan(u) else np.full(width.shape, u)


def u_after_check(u: float, tolerance: float, months: float) -> float:
    """Return what is left uncertain some time after a bench check.

    Args:
        u: Of the check.
        tolerance: In the same unit.
        months: Since the check.

    Returns:
        Grows in proportion to time, never beyond the tolerance's unless the check itself does.
    """
    most = tolerance / np.sqrt(3.0)
    drift = most * DRIFT_SHARE * max(months, 0.0) / TRUSTED_MONTHS
    return float(max(min(np.hypot(u, drift), most), u))


def _between(value: npt.ArrayLike, table: tuple[tuple[float, float], ...], unit: float) -> Array:
    at, tolerance = np.array(table).T
    return np.asarray(np.interp(np.asarray(value) / unit, at, tolerance) * unit)
