"""Points as CSV: the bulk way in for older results, and the way out."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Final

import numpy as np
from sqlalchemy.orm import Session

from fleetcal.airdata.position_error import corrections, kappa_from_airspeeds
from fleetcal.airdata.run_quality import LARGEST_KAPPA
from fleetcal.errors import (
    DataError,
    MissingColumnError,
    OutOfRangeError,
)
from fleetcal.services.plain_table import PlainTable, read_plain_table
from fleetcal.services.point_cells import PointLine
from fleetcal.store import (
    NewPoint,
    NewSortie,
    NewTerm,
    PointRow,
    Store,
    add_sortie,
    add_source,
    find_source,
    select_points,
)
from fleetcal.units import MPS_PER_KT, from_si, to_si

COLUMNS: Final = (
    "airframe",
    "flown_on",
    "sortie",
    "technique",
    "flap_setting",
    "weight_kg",
    "vic_kt",
    "pressure_altitude_ft",
    "oat_degc",
    "tas_kt",
    "kappa",
    "u_kappa",
    "u_shared_kappa",
    "dvpc_kt",
    "u_dvpc_kt",
    "dhpc_ft",
    "u_dhpc_ft",
    "wind_speed_kt",
    "wind_from_deg",
    "leg_count",
    "largest_gap_deg",
    "residual_kt",
    "duration_s",
    "degrees_of_freedom",
    "accepted",
    "reason",
    "barred",
)
_NEEDED: Final = ("airframe", "flown_on", "weight_kg", "vic_kt", "pressure_altitude_ft")
_OPTIONAL_NUMBERS: Final = (
    "oat_degc",
    "tas_kt",
    "wind_speed_kt",
    "wind_from_deg",
    "largest_gap_deg",
    "residual_kt",
    "duration_s",
    "degrees_of_freedom",
)
TECHNIQUES: Final = (
    "gps legs",
    "gps manoeuvre",
    "speed course",
    "pace aircraft",
    "tower fly-by",
    "trailing static",
    "earlier result",
)


@dataclass(frozen=True)
class PointsImported:
    """What an import added; `known_already` when the same content was there."""

    file: str
    points: int
    sorties: int
    known_already: bool


def points_csv(points: Sequence[PointRow]) -> str:
    """Return points as CSV, in the columns that `import_points` reads.

    Parameters
    ----------
    points : sequence of PointRow

    Returns
    -------
    str
        RFC 4180 with newlines as line ends; numbers to full precision.
    """
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(COLUMNS)
    for point in points:
        shared = np.sqrt(sum(t.u_kappa**2 for t in point.terms if t.shared))
        extra = {
            "sortie": str(point.sortie_id),
            "u_shared_kappa": repr(float(shared)),
            "accepted": "yes" if point.accepted else "no",
        }
        writer.writerow([extra[c] if c in extra else _cell(getattr(point, c)) for c in COLUMNS])
    return text.getvalue()


def import_points(store: Store, path: Path) -> PointsImported:
    """Add the points of a CSV file, all or none.

    Parameters
    ----------
    store : Store
    path : Path
        Needs ``airframe, flown_on, weight_kg, vic_kt, pressure_altitude_ft`` and
        either ``kappa, u_kappa`` or ``dvpc_kt, u_dvpc_kt``; the other columns of
        `COLUMNS` may be left out. ``sortie`` keeps flights of one day apart.

    Returns
    -------
    PointsImported

    Raises
    ------
    DataError
        If the file or a cell is wrong; the message names line and column.
    """
    table = read_plain_table(path, COLUMNS)
    _require_columns(table)
    flights: dict[tuple[str, date, str], list[tuple[PointLine, NewPoint]]] = {}
    for row in table.rows:
        key = (row.text("airframe"), row.day("flown_on"), row.text("sortie"))
        flights.setdefault(key, []).append((row, _point(row)))
    with store.writing() as session:
        if find_source(session, table.sha256) is not None:
            return PointsImported(path.name, 0, 0, known_already=True)
        _refuse_known(session, flights)
        source = add_source(session, table.sha256, path.name, "points")
        for (airframe, flown_on, _), lines in flights.items():
            numbered = [_numbered(point, i) for i, (_, point) in enumerate(lines, 1)]
            sortie = NewSortie(airframe, flown_on, numbered[0].weight_kg)
            try:
                add_sortie(session, source, sortie, (), numbered)
            except DataError as error:
                line = lines[0][0].line
                raise type(error)(
                    f"{path.name}, line {line}: {error.message}", error.hint
                ) from error
    return PointsImported(path.name, len(table.rows), len(flights), known_already=False)


def _refuse_known(
    session: Session, flights: Mapping[tuple[str, date, str], list[tuple[PointLine, NewPoint]]]
) -> None:
    """Refuse points that are in the store already: counted twice they would weigh too much."""
    known = {
        (p.airframe, p.flown_on, p.flap_setting, p.vic_kt, p.kappa, p.u_kappa): p.point_id
        for p in select_points(session)
    }
    for (airframe, flown_on, _), lines in flights.items():
        for row, point in lines:
            same = (airframe, flown_on, point.flap_setting, point.vic_kt, point.kappa)
            number = known.get((*same, point.u_kappa))
            if number is not None:
                raise row.wrong(
                    f"the store has this point already, as point {number}",
                    "leave out what is there; 'points export --flown-from' writes newer days only",
                )


def _cell(value: object) -> str:
    if value is None:
        return ""
    return repr(value) if isinstance(value, float) else str(value)


def _require_columns(table: PlainTable) -> None:
    missing = [column for column in _NEEDED if column not in table.headings]
    pairs = (("kappa", "u_kappa"), ("dvpc_kt", "u_dvpc_kt"))
    if not any(set(pair) <= set(table.headings) for pair in pairs):
        missing.append("kappa, u_kappa (or dvpc_kt, u_dvpc_kt)")
    if missing:
        raise MissingColumnError(
            f"{table.name}, line 1: no column {'; '.join(missing)}",
            "'fleetcal points import --help' lists what a file of points needs",
        )


def _point(row: PointLine) -> NewPoint:
    vic = row.required("vic_kt")
    altitude = row.required("pressure_altitude_ft")
    try:
        kappa, u_kappa = _kappa(row, vic)
        told = corrections(vic * MPS_PER_KT, to_si(altitude, "ft"), kappa)
    except OutOfRangeError as error:
        raise row.wrong(error.message, error.hint) from error
    u_shared = row.number("u_shared_kappa") or 0.0
    if not 0.0 <= u_shared < u_kappa:
        raise row.wrong(
            f"{u_shared:g} is not below u_kappa",
            "give the part of u_kappa that all points of the sortie share",
            "u_shared_kappa",
        )
    accepted = row.choice("accepted", ("yes", "no"), "yes") == "yes"
    reason, barred = row.text("reason"), row.text("barred")
    if accepted and barred:  # the check that bars it stays behind in the other store
        accepted, reason = False, f"barred where it came from: {barred}"
    if not accepted and not reason:
        raise row.wrong("a point that is not accepted needs a reason", "say why", "reason")
    return NewPoint(
        number=1,
        technique=row.choice("technique", TECHNIQUES, "earlier result"),
        weight_kg=row.required("weight_kg"),
        vic_kt=vic,
        pressure_altitude_ft=altitude,
        kappa=kappa,
        u_kappa=u_kappa,
        dvpc_kt=from_si(float(told.airspeed_mps), "kt"),
        u_dvpc_kt=from_si(u_kappa * abs(float(told.airspeed_per_kappa_mps)), "kt"),
        dhpc_ft=from_si(float(told.altitude_m), "ft"),
        u_dhpc_ft=from_si(u_kappa * abs(float(told.altitude_per_kappa_m)), "ft"),
        flap_setting=row.text("flap_setting", "up"),
        leg_count=row.whole("leg_count"),
        accepted=accepted,
        reason=reason,
        terms=_terms(u_kappa, u_shared),
        **{column: row.number(column) for column in _OPTIONAL_NUMBERS},
    )


def _kappa(row: PointLine, vic_kt: float) -> tuple[float, float]:
    """Return kappa and its uncertainty, from kappa itself or from the speed correction."""
    kappa, u_kappa = row.number("kappa"), row.number("u_kappa")
    if kappa is not None and u_kappa is not None:
        return kappa, u_kappa
    correction, u_correction = row.required("dvpc_kt"), row.required("u_dvpc_kt")
    vic = vic_kt * MPS_PER_KT
    kappa = float(kappa_from_airspeeds(vic, (vic_kt + correction) * MPS_PER_KT))
    if abs(kappa) > LARGEST_KAPPA:
        raise row.wrong(
            f"a correction of {correction:g} kt at {vic_kt:g} kt is more than any static port does",
            "check the unit and the column",
            "dvpc_kt",
        )
    slope = float(corrections(vic, 0.0, kappa).airspeed_per_kappa_mps)
    return kappa, u_correction * MPS_PER_KT / slope


def _terms(u_kappa: float, u_shared: float) -> tuple[NewTerm, ...]:
    own = NewTerm(
        "of the point alone", float(np.sqrt(u_kappa**2 - u_shared**2)), False, "B", "as imported"
    )
    if u_shared == 0.0:
        return (own,)
    return (own, NewTerm("shared by the sortie", u_shared, True, "B", "as imported"))


def _numbered(point: NewPoint, number: int) -> NewPoint:
    return replace(point, number=number)
