"""What a measurement can be at all, and what it is likely to be.

Three answers, each for what the one before lets pass. A value that a file may not say is
refused where the file is read (`RecordColumn.believed`). A value that is not usual is kept and
not accepted until somebody accepts it (`RecordColumn.usual`). A value that no fit can use, as
older stores may hold, stays out of every pool (`why_unfit`) whatever was decided of it.
"""

from __future__ import annotations

from typing import Final

from fleetcal.records.column import RecordColumn
from fleetcal.records.point import LARGEST_KAPPA, LEAST_KAPPA, kappa_can_be

#: Uncertainties of kappa that a fit can weigh: one below outweighs every other point, whatever
#: was measured; one above says nothing, and its band reaches airspeeds that nothing flies at.
FINEST_U_KAPPA: Final = 1e-5
COARSEST_U_KAPPA: Final = 1.0
#: Airspeeds that a point may stand for at the reference weight, kt.
SLOWEST_KT: Final = 10.0
FASTEST_KT: Final = 590.0
#: How many times heavier or lighter than the reference weight a point may be: many times more
#: than an aircraft can, so that a reference weight that was only supposed bars nothing.
MOST_TIMES: Final = 8.0
_CALLED: Final = {
    "vic_kt": "the airspeed",
    "pressure_altitude_ft": "the pressure altitude",
    "oat_degc": "the air temperature",
    "tas_kt": "the true airspeed",
    "u_kappa": "the uncertainty of kappa",
    "wind_speed_kt": "the wind",
    "weight_kg": "the weight",
    "rate_ftmin": "the vertical speed",
    "u_own_ftmin": "the uncertainty of the vertical speed",
}
_SHOWN: Final = {"degC": "°C", "": ""}


def unusual(column: RecordColumn, value: float | None) -> str:
    """Return why a value is doubted, empty if it is usual, not known, or has no usual range."""
    if column.usual is None or value is None or value != value:  # NaN: not known
        return ""
    low, high = column.usual
    if low <= value <= high:
        return ""
    unit = _SHOWN.get(column.unit, column.unit)
    after = f" {unit}" if unit else ""
    called = _CALLED.get(column.name, column.name)
    beyond = f"below {low:g}" if value < low else f"above {high:g}"
    return (
        f"{called} of {value:.6g}{after} is {beyond}{after}, which is not usual: check "
        f"{_check(column)}"
    )


def _check(column: RecordColumn) -> str:
    if column.name.startswith("u_"):
        return "what it was made from"
    return "unit and column" if column.unit else "the column"


def why_unfit(
    *, kappa: float, u_kappa: float, vic_kt: float, weight_kg: float, reference_kg: float
) -> str:
    """Return why no fit can use a point, empty if fits can.

    Args:
        reference_kg: Of its type.
    """
    if not kappa_can_be(kappa):
        limits = f"{LEAST_KAPPA:g} to {LARGEST_KAPPA:g}"
        return f"kappa {kappa:.6g} is none that a static port has ({limits})"
    if not FINEST_U_KAPPA <= u_kappa <= COARSEST_U_KAPPA:
        too = "small to be true" if u_kappa < FINEST_U_KAPPA else "large to say anything"
        return f"its uncertainty of kappa, {u_kappa:.6g}, is too {too}"
    if not SLOWEST_KT <= vic_kt <= FASTEST_KT:
        return f"its airspeed of {vic_kt:.6g} kt is none to measure at"
    if not reference_kg / MOST_TIMES <= weight_kg <= reference_kg * MOST_TIMES:
        return f"its weight of {weight_kg:.6g} kg is none of a type of {reference_kg:.6g} kg"
    if not is_speed(vic_kt, weight_kg, reference_kg):
        return f"{vic_kt:.6g} kt at {weight_kg:.6g} kg is no airspeed at {reference_kg:.6g} kg"
    return ""


def is_speed(vic_kt: float, weight_kg: float, reference_kg: float) -> bool:
    """Tell whether an airspeed is one at the reference weight too."""
    square = vic_kt * vic_kt * reference_kg
    return SLOWEST_KT**2 * weight_kg <= square <= FASTEST_KT**2 * weight_kg
