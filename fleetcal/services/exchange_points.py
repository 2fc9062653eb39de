"""Points as CSV: the bulk way in for older results, and the way out."""

from __future__ import annotations

import csv
import hashlib
import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any, Final

import numpy as np

from fleetcal.airdata.position_error import corrections, kappa_from_airspeeds
from fleetcal.errors import (
    DataError,
    EmptyFileError,
    FleetcalError,
    MalformedFileError,
    MissingColumnError,
    NotTextError,
)
from fleetcal.store import (
    NewPoint,
    NewSortie,
    NewTerm,
    PointRow,
    Store,
    add_sortie,
    add_source,
    find_source,
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
    content, rows = _read(path)
    points = [(line, row, _point(path.name, line, row)) for line, row in rows]
    sha256 = hashlib.sha256(content).hexdigest()
    flights: dict[tuple[str, date, str], list[tuple[int, NewPoint]]] = {}
    for line, row, point in points:
        key = (row["airframe"], _day(path.name, line, row["flown_on"]), row.get("sortie", ""))
        flights.setdefault(key, []).append((line, point))
    with store.writing() as session:
        if find_source(session, sha256) is not None:
            return PointsImported(path.name, 0, 0, known_already=True)
        source = add_source(session, sha256, path.name, "points")
        for (airframe, flown_on, _), lines in flights.items():
            numbered = [_numbered(point, i) for i, (_, point) in enumerate(lines, 1)]
            sortie = NewSortie(airframe, flown_on, numbered[0].weight_kg)
            try:
                add_sortie(session, source, sortie, (), numbered)
            except DataError as error:
                raise type(error)(
                    f"{path.name}, line {lines[0][0]}: {error.message}", error.hint
                ) from error
    return PointsImported(path.name, len(points), len(flights), known_already=False)


def _cell(value: object) -> str:
    if value is None:
        return ""
    return repr(value) if isinstance(value, float) else str(value)


def _read(path: Path) -> tuple[bytes, list[tuple[int, dict[str, str]]]]:
    try:
        content = path.read_bytes()
    except OSError as error:
        raise DataError(f"{path.name}: {error.strerror}", "check the path") from error
    if not content.strip():
        raise EmptyFileError(f"{path.name}: the file is empty", "give a CSV file with headings")
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise NotTextError(
            f"{path.name}: not a text file in UTF-8", "save it as CSV in UTF-8"
        ) from error
    if "\0" in text:
        raise NotTextError(f"{path.name}: not a text file", "save it as CSV in UTF-8")
    reader = csv.reader(io.StringIO(text, newline=""))
    try:
        headings = [cell.strip() for cell in next(reader)]
        _check_headings(path.name, headings)
        return content, list(_rows(path.name, reader, headings))
    except csv.Error as error:
        raise MalformedFileError(
            f"{path.name}, line {reader.line_num}: {error}", "save the file as plain CSV"
        ) from error


def _check_headings(name: str, headings: list[str]) -> None:
    for heading in headings:
        if heading not in COLUMNS or headings.count(heading) > 1:
            raise MalformedFileError(
                f"{name}, line 1: unknown or repeated column {heading!r}",
                f"columns are {', '.join(COLUMNS)}",
            )
    missing = [column for column in _NEEDED if column not in headings]
    pairs = (("kappa", "u_kappa"), ("dvpc_kt", "u_dvpc_kt"))
    if not any(set(pair) <= set(headings) for pair in pairs):
        missing.append("kappa, u_kappa (or dvpc_kt, u_dvpc_kt)")
    if missing:
        raise MissingColumnError(
            f"{name}, line 1: no column {'; '.join(missing)}",
            "the documentation lists what a file of points needs",
        )


def _rows(name: str, reader: Any, headings: list[str]) -> list[tuple[int, dict[str, str]]]:
    found = []
    for cells in reader:
        if not any(cell.strip() for cell in cells):
            continue
        if len(cells) != len(headings):
            raise MalformedFileError(
                f"{name}, line {reader.line_num}: {len(cells)} cells, {len(headings)} headings",
                "give every row one cell a heading",
            )
        found.append(
            (reader.line_num, dict(zip(headings, (c.strip() for c in cells), strict=True)))
        )
    if not found:
        raise EmptyFileError(f"{name}: headings but no rows", "add a row a point")
    return found


def _number(name: str, line: int, row: Mapping[str, str], column: str) -> float | None:
    text = row.get(column, "")
    if not text:
        return None
    try:
        value = float(text)
    except ValueError:
        value = np.nan
    if not np.isfinite(value):
        raise MalformedFileError(
            f"{name}, line {line}, column {column}: {text!r} is not a number", "correct the cell"
        )
    return value


def _required(name: str, line: int, row: Mapping[str, str], column: str) -> float:
    value = _number(name, line, row, column)
    if value is None:
        raise MalformedFileError(
            f"{name}, line {line}, column {column}: the cell is empty", "fill it in"
        )
    return value


def _day(name: str, line: int, text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        raise MalformedFileError(
            f"{name}, line {line}, column flown_on: {text!r} is not a date", "write YYYY-MM-DD"
        ) from error


def _choice(
    name: str, line: int, row: Mapping[str, str], column: str, allowed: Sequence[str], default: str
) -> str:
    text = row.get(column, "") or default
    if text not in allowed:
        raise MalformedFileError(
            f"{name}, line {line}, column {column}: {text!r}", f"write one of {', '.join(allowed)}"
        )
    return text


def _point(name: str, line: int, row: Mapping[str, str]) -> NewPoint:
    vic = _required(name, line, row, "vic_kt")
    altitude = _required(name, line, row, "pressure_altitude_ft")
    try:
        kappa, u_kappa = _kappa(name, line, row, vic)
        told = corrections(vic * MPS_PER_KT, to_si(altitude, "ft"), kappa)
    except FleetcalError as error:
        if isinstance(error, MalformedFileError):
            raise
        raise MalformedFileError(f"{name}, line {line}: {error.message}", error.hint) from error
    u_shared = _number(name, line, row, "u_shared_kappa") or 0.0
    if not 0.0 <= u_shared < u_kappa:
        raise MalformedFileError(
            f"{name}, line {line}, column u_shared_kappa: {u_shared:g} is not below u_kappa",
            "give the part of u_kappa that all points of the sortie share",
        )
    accepted = _choice(name, line, row, "accepted", ("yes", "no"), "yes") == "yes"
    legs = _number(name, line, row, "leg_count")
    return NewPoint(
        number=1,
        technique=_choice(name, line, row, "technique", TECHNIQUES, "earlier result"),
        weight_kg=_required(name, line, row, "weight_kg"),
        vic_kt=vic,
        pressure_altitude_ft=altitude,
        kappa=kappa,
        u_kappa=u_kappa,
        dvpc_kt=from_si(float(told.airspeed_mps), "kt"),
        u_dvpc_kt=from_si(u_kappa * abs(float(told.airspeed_per_kappa_mps)), "kt"),
        dhpc_ft=from_si(float(told.altitude_m), "ft"),
        u_dhpc_ft=from_si(u_kappa * abs(float(told.altitude_per_kappa_m)), "ft"),
        flap_setting=row.get("flap_setting", "") or "up",
        leg_count=None if legs is None else int(legs),
        accepted=accepted,
        reason=row.get("reason", ""),
        terms=_terms(u_kappa, u_shared),
        **{column: _number(name, line, row, column) for column in _OPTIONAL_NUMBERS},
    )


def _kappa(name: str, line: int, row: Mapping[str, str], vic_kt: float) -> tuple[float, float]:
    """Return kappa and its uncertainty, from kappa itself or from the speed correction."""
    kappa, u_kappa = (_number(name, line, row, c) for c in ("kappa", "u_kappa"))
    if kappa is None or u_kappa is None:
        correction = _required(name, line, row, "dvpc_kt")
        u_correction = _required(name, line, row, "u_dvpc_kt")
        vic = vic_kt * MPS_PER_KT
        kappa = float(kappa_from_airspeeds(vic, (vic_kt + correction) * MPS_PER_KT))
        slope = float(corrections(vic, 0.0, kappa).airspeed_per_kappa_mps)
        u_kappa = u_correction * MPS_PER_KT / slope
    if u_kappa <= 0.0:
        raise MalformedFileError(
            f"{name}, line {line}: the uncertainty is not above zero",
            "give a standard uncertainty; without one a point cannot be weighed",
        )
    return kappa, u_kappa


def _terms(u_kappa: float, u_shared: float) -> tuple[NewTerm, ...]:
    own = NewTerm(
        "of the point alone", float(np.sqrt(u_kappa**2 - u_shared**2)), False, "B", "as imported"
    )
    if u_shared == 0.0:
        return (own,)
    return (own, NewTerm("shared by the sortie", u_shared, True, "B", "as imported"))


def _numbered(point: NewPoint, number: int) -> NewPoint:
    return replace(point, number=number)
