"""One row of a points file as a point; what is wrong with it is told by line and column."""

from __future__ import annotations

from typing import Any, Final

import numpy as np

from fleetcal.airdata.position_error import corrections, kappa_from_airspeeds
from fleetcal.errors import OutOfRangeError
from fleetcal.records import TECHNIQUES, BudgetTerm, Point, columns_of, kappa_can_be
from fleetcal.services.point_cells import FileRow
from fleetcal.units import MPS_PER_KT, from_si, to_si


def _optional(kind: type) -> tuple[str, ...]:
    columns = columns_of(Point).items()
    return tuple(name for name, column in columns if column.may_be_empty and column.kind is kind)


#: What may be missing of a point: numbers, and whole numbers.
OPTIONAL_NUMBERS: Final = _optional(float)
OPTIONAL_INTEGERS: Final = _optional(int)
#: Lines of the budget of an imported point.
OWN_TERM: Final = "of the point alone"
#: Columns of parts of u_kappa that all points of an owner have alike, with owner and term.
PART_COLUMNS: Final = {
    "u_shared_kappa": ("sortie", "shared by the sortie"),
    "u_airframe_kappa": ("airframe", "of the airframe's instruments"),
    "u_fleet_kappa": ("fleet", "common to the fleet"),
}
IMPORTED_KIND: Final = "B"
IMPORTED_NOTE: Final = "as imported"


def point_of_row(row: FileRow) -> Point:
    """Read one row.

    Returns:
        Number 1, with its budget.

    Raises:
        MalformedFileError: If a cell is wrong.
    """
    vic = row.required("vic_kt")
    altitude = row.required("pressure_altitude_ft")
    try:
        kappa, u_kappa = _kappa(row, vic)
        corrected = corrections(vic * MPS_PER_KT, to_si(altitude, "ft"), kappa)
    except OutOfRangeError as error:
        raise row.wrong(error.message, error.hint) from error
    parts = _parts(row, u_kappa)
    accepted = row.choice("accepted", ("yes", "no"), "yes") == "yes"
    reason, barred = row.text("reason"), row.text("barred")
    if accepted and barred:  # the check that bars it stays behind in the other store
        accepted, reason = False, f"barred where it came from: {barred}"
    if not accepted and not reason:
        raise row.wrong("a point that is not accepted needs a reason", "say why", "reason")
    return Point(
        number=1,
        technique=row.choice("technique", TECHNIQUES, "earlier result"),
        weight_kg=row.required("weight_kg"),
        vic_kt=vic,
        pressure_altitude_ft=altitude,
        kappa=kappa,
        u_kappa=u_kappa,
        dvpc_kt=from_si(float(corrected.airspeed_mps), "kt"),
        u_dvpc_kt=from_si(u_kappa * abs(float(corrected.airspeed_per_kappa_mps)), "kt"),
        dhpc_ft=from_si(float(corrected.altitude_m), "ft"),
        u_dhpc_ft=from_si(u_kappa * abs(float(corrected.altitude_per_kappa_m)), "ft"),
        flap_setting=row.text("flap_setting", "up"),
        accepted=accepted,
        reason=reason,
        terms=_terms(u_kappa, parts),
        **_optional_values(row),
    )


def _optional_values(row: FileRow) -> dict[str, Any]:
    numbers = {column: row.number(column) for column in OPTIONAL_NUMBERS}
    return numbers | {column: row.integer(column) for column in OPTIONAL_INTEGERS}


def _kappa(row: FileRow, vic_kt: float) -> tuple[float, float]:
    """Return kappa and its uncertainty, from kappa itself or from the speed correction."""
    kappa, u_kappa = row.number("kappa"), row.number("u_kappa")
    if kappa is not None and u_kappa is not None:
        return kappa, u_kappa
    correction, u_correction = row.required("dvpc_kt"), row.required("u_dvpc_kt")
    vic = vic_kt * MPS_PER_KT
    kappa = float(kappa_from_airspeeds(vic, (vic_kt + correction) * MPS_PER_KT))
    if not kappa_can_be(kappa):
        raise row.wrong(
            f"a correction of {correction:g} kt at {vic_kt:g} kt is more than a port can do",
            "check the unit and the column",
            "dvpc_kt",
        )
    slope = float(corrections(vic, 0.0, kappa).airspeed_per_kappa_mps)
    return kappa, u_correction * MPS_PER_KT / slope


def _parts(row: FileRow, u_kappa: float) -> dict[str, float]:
    """Return the parts of u_kappa that all points of an owner have alike, by column."""
    parts = {column: row.number(column) or 0.0 for column in PART_COLUMNS}
    for column, part in parts.items():
        if not 0.0 <= part < u_kappa:
            owner, _ = PART_COLUMNS[column]
            raise row.wrong(
                f"{part:g} is not below u_kappa",
                f"give the part of u_kappa that all points of the {owner} share",
                column,
            )
    if not np.linalg.norm(list(parts.values())) < u_kappa:
        raise row.wrong(
            f"the parts {' and '.join(PART_COLUMNS)} leave nothing of u_kappa to the point",
            "they add in squares and must stay below u_kappa",
            "u_kappa",
        )
    return parts


def _terms(u_kappa: float, parts: dict[str, float]) -> tuple[BudgetTerm, ...]:
    u_own = float(np.sqrt(u_kappa**2 - sum(part**2 for part in parts.values())))
    return (
        BudgetTerm(
            name=OWN_TERM, u_kappa=u_own, owner="point", kind=IMPORTED_KIND, note=IMPORTED_NOTE
        ),
        *(
            BudgetTerm(
                name=name,
                u_kappa=parts[column],
                owner=owner,
                kind=IMPORTED_KIND,
                note=IMPORTED_NOTE,
            )
            for column, (owner, name) in PART_COLUMNS.items()
            if parts[column] > 0.0
        ),
    )
