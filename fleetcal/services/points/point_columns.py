"""A block of a points file, read by column: many rows at the cost of a few array operations.

A block in which anything is unusual is read row by row instead, by the code
that can say what is wrong and where.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, Final

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.airdata.position_error import corrections, kappa_from_airspeeds
from fleetcal.errors import OutOfRangeError
from fleetcal.records import (
    LARGEST_KAPPA,
    LEAST_KAPPA,
    TECHNIQUES,
    Point,
    RecordColumn,
    columns_of,
)
from fleetcal.services.plain_blocks import Block
from fleetcal.services.point_cells import COLUMNS
from fleetcal.services.points.point_rows import (
    OPTIONAL_INTEGERS,
    OPTIONAL_NUMBERS,
    PART_COLUMNS,
    point_of_row,
)
from fleetcal.units import MPS_PER_KT, from_si, to_si

_REQUIRED: Final = ("weight_kg", "vic_kt", "pressure_altitude_ft")
_NUMBERS: Final = tuple(name for name, column in columns_of(Point).items() if column.kind is float)
_OTHERS: Final = tuple(name for name in columns_of(Point) if name not in (*_NUMBERS, "number"))


@dataclass(frozen=True, kw_only=True)
class PointColumns:
    """Points of a block, by column.

    Attributes:
        lines: Of the file.
        values: Columns of a stored point: ndarray of float, shape (rows,), NaN for nothing;
            whole numbers and what is no number as lists.
        u_own (rows,): What of u_kappa belongs to the point alone.
        u_parts (rows,): What all points of an owner have alike, by the column it stands in.
    """

    lines: Sequence[int]
    airframe: list[str]
    flown_on: list[date]
    sortie: list[str]
    values: dict[str, Any]
    u_own: Array
    u_parts: dict[str, Array]


class _UnusualError(Exception):
    """Something that only the rows can tell."""


def point_columns(block: Block) -> PointColumns:
    """Read the points of a block.

    Raises:
        MalformedFileError: If a cell is wrong; the message names line and column.
    """
    try:
        return _by_column(block)
    except (_UnusualError, ValueError, OutOfRangeError):
        return _by_row(block)


def _by_column(block: Block) -> PointColumns:
    number = {name: _numbers(block, name) for name in (*_REQUIRED, *OPTIONAL_NUMBERS)}
    if any(np.isnan(number[name]).any() for name in _REQUIRED):
        raise _UnusualError
    vic = number["vic_kt"] * MPS_PER_KT
    kappa, u_kappa = _kappa(block, vic)
    corrected = corrections(vic, to_si(number["pressure_altitude_ft"], "ft"), kappa)
    u_parts = {column: np.nan_to_num(_numbers(block, column)) for column in PART_COLUMNS}
    left = u_kappa**2 - sum(part**2 for part in u_parts.values())
    if not np.all(left > 0.0) or any(np.any(part < 0.0) for part in u_parts.values()):
        raise _UnusualError
    accepted = [text != "no" for text in _words(block, "accepted", ("yes", "no"), "yes")]
    reason = block.column("reason")
    if any(block.column("barred")) or not all(map(_either, accepted, reason)):
        raise _UnusualError
    values = {
        "technique": _words(block, "technique", TECHNIQUES, "earlier result"),
        "flap_setting": [text or "up" for text in block.column("flap_setting")],
        **number,
        "kappa": kappa,
        "u_kappa": u_kappa,
        "dvpc_kt": from_si(corrected.airspeed_mps, "kt"),
        "u_dvpc_kt": from_si(u_kappa * np.abs(corrected.airspeed_per_kappa_mps), "kt"),
        "dhpc_ft": from_si(corrected.altitude_m, "ft"),
        "u_dhpc_ft": from_si(u_kappa * np.abs(corrected.altitude_per_kappa_m), "ft"),
        **{name: _integers(_numbers(block, name)) for name in OPTIONAL_INTEGERS},
        "accepted": accepted,
        "reason": reason,
    }
    return PointColumns(
        lines=block.lines,
        airframe=block.column("airframe"),
        flown_on=_each_once(date.fromisoformat, block.column("flown_on")),
        sortie=block.column("sortie"),
        values=values,
        u_own=np.sqrt(left),
        u_parts=u_parts,
    )


def _by_row(block: Block) -> PointColumns:
    rows = block.rows()
    days = [row.day("flown_on") for row in rows]
    points = [point_of_row(row) for row in rows]
    values: dict[str, Any] = {name: [getattr(p, name) for p in points] for name in _OTHERS}
    for name in _NUMBERS:
        values[name] = np.array([getattr(p, name) for p in points], dtype=np.float64)
    return PointColumns(
        lines=block.lines,
        airframe=[row.text("airframe") for row in rows],
        flown_on=days,
        sortie=[row.text("sortie") for row in rows],
        values=values,
        u_own=_owned(points, "point"),
        u_parts={column: _owned(points, owner) for column, (owner, _) in PART_COLUMNS.items()},
    )


def _owned(points: Sequence[Point], owner: str) -> Array:
    own = [sum(t.u_kappa for t in point.terms if t.owner == owner) for point in points]
    return np.array(own, dtype=np.float64)


def _numbers(block: Block, name: str) -> Array:
    """Return a column of numbers, NaN where nothing stands."""
    cells = block.cells_of(name)
    if cells is None:
        return np.full(len(block.cells), np.nan)
    if "_" in "".join(cells):  # Python reads it, nobody else does
        raise _UnusualError
    if all(cells):
        values = given = np.array(list(map(float, cells)))
    else:
        values = np.array([float(text) if text else np.nan for text in cells])
        given = values[np.array([bool(text) for text in cells])]
    known = COLUMNS.get(name, RecordColumn())
    low, high = known.limits
    good = np.isfinite(given) & (given >= low) & (given <= high)
    if known.above == 0.0:
        good &= given > 0.0
    if not good.all():
        raise _UnusualError
    return values


def _kappa(block: Block, vic_mps: Array) -> tuple[Array, Array]:
    """Return kappa and its uncertainty, from themselves or from the speed correction."""
    kappa, u_kappa = _numbers(block, "kappa"), _numbers(block, "u_kappa")
    missing = np.isnan(kappa) | np.isnan(u_kappa)
    if missing.any():
        stated, u_stated = (
            _numbers(block, "dvpc_kt")[missing],
            _numbers(block, "u_dvpc_kt")[missing],
        )
        if np.isnan(stated).any() or np.isnan(u_stated).any():
            raise _UnusualError
        vic = vic_mps[missing]
        kappa[missing] = kappa_from_airspeeds(vic, vic + stated * MPS_PER_KT)
        slope = corrections(vic, 0.0, kappa[missing]).airspeed_per_kappa_mps
        u_kappa[missing] = u_stated * MPS_PER_KT / slope
    if not np.all((kappa >= LEAST_KAPPA) & (kappa <= LARGEST_KAPPA)):
        raise _UnusualError
    return kappa, u_kappa


def _words(block: Block, name: str, allowed: Sequence[str], default: str) -> list[str]:
    words = [text or default for text in block.column(name)]
    if not set(words) <= set(allowed):
        raise _UnusualError
    return words


def _integers(values: Array) -> list[int | None]:
    if np.any(values != np.rint(values), where=~np.isnan(values)):
        raise _UnusualError
    return [None if np.isnan(value) else int(value) for value in values]


def _either(accepted: bool, reason: str) -> bool:
    return accepted or bool(reason)


def _each_once(read: Callable[[str], Any], cells: list[str]) -> list[Any]:
    known: Mapping[str, Any] = {text: read(text) for text in set(cells)}
    return [known[text] for text in cells]
