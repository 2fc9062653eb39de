"""Put the points of a file into the store block by block, sortie by sortie."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING, Any

import numpy as np

from fleetcal.errors import FleetcalError, MalformedFileError
from fleetcal.records import GPS_MANOEUVRE, ORDINARY_FLIGHT
from fleetcal.services.large_error import SUSPECT_KAPPA
from fleetcal.services.plain_blocks import Block
from fleetcal.services.plausible_point import (
    HeldAgainst,
    day_doubt,
    doubt_of,
    require_flown,
    rows_to_look_at,
)
from fleetcal.services.plausible_weight import PLAUSIBLE_SHARES, require_plausible_weight
from fleetcal.services.points.point_columns import PointColumns, point_columns
from fleetcal.services.points.point_rows import IMPORTED_KIND, IMPORTED_NOTE, OWN_TERM, PART_COLUMNS
from fleetcal.services.repeated_flight import repeats_among, settle_repeats
from fleetcal.store import BulkFlights, FlownFlight, NewSortie, flown_on_days, refusals_named

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

_Key = tuple[str, date, str]


class PointsAdding:
    """Adds blocks of one file; a sortie may go on in a later block.

    Args:
        flights: Of a writing transaction.
        may_know: Whether the store may have the same points already.

    Attributes:
        points: Added so far.
        suspect: Lines of points that count though their errors are large.
        doubted: Line -> why its point is not accepted.
    """

    def __init__(self, flights: BulkFlights, *, may_know: bool = False) -> None:
        self._flights, self._may_know = flights, may_know
        self._numbers: dict[_Key, int] = {}
        self._points: dict[int, int] = {}
        self.points = 0
        self.suspect: list[int] = []
        self.doubted: dict[int, str] = {}

    @property
    def sorties(self) -> int:
        """Sorties added so far."""
        return len(self._numbers)

    def add(self, block: Block) -> None:
        """Add the points of a block.

        Raises:
            DataError: If a cell is wrong, the store has one of the points already, a weight is none
                of its type, or a value breaks a rule; the message names the line.
        """
        read = point_columns(block)
        self._require_plausible(block, read)
        self._doubt(read)
        if not self._may_know:
            self._refuse_known(block, read)
        owners = self._sorties_of(block, read)
        count = len(owners)
        columns = {"sortie_id": owners, "number": self._count_on(owners), **read.values}
        first, last = read.lines[0], read.lines[-1]
        with refusals_named(f"{block.file}, lines {first} to {last}"):
            numbers = self._flights.add_points(count, columns)
        own = {"name": OWN_TERM, "kind": IMPORTED_KIND, "note": IMPORTED_NOTE, "owner": "point"}
        self._flights.add_terms(
            count, {"calibration_point_id": numbers, "u_kappa": read.u_own, **own}
        )
        for column, (owner, name) in PART_COLUMNS.items():
            some = np.flatnonzero(read.u_parts[column] > 0.0)
            self._flights.add_terms(
                len(some),
                {
                    "calibration_point_id": [numbers[i] for i in some.tolist()],
                    "u_kappa": read.u_parts[column][some],
                    **own,
                    "name": name,
                    "owner": owner,
                },
            )
        self.points += count
        large = np.abs(read.values["kappa"]) > SUSPECT_KAPPA
        counts = np.flatnonzero(large & np.array(read.values["accepted"])).tolist()
        self.suspect += [read.lines[row] for row in counts]

    def settle_repeats(self, session: Session, name: str, choice: str) -> tuple[str, ...]:
        """Do with flights that were added and are stored from another file as somebody said.

        Args:
            name: Of this file.
            choice: One of `REPEATS`.

        Raises:
            RepeatedFlightError: If nothing was said.
        """
        done: list[str] = []
        keys = self._flights.flown_before({(tag, day) for tag, day, _ in self._numbers})
        stored = flown_on_days(session, keys)
        own = set(self._numbers.values())
        before: dict[tuple[str, date], list[FlownFlight]] = {}
        for flown in stored:
            if flown.sortie_id not in own:
                before.setdefault((flown.airframe, flown.flown_on), []).append(flown)
        for new in (flown for flown in stored if flown.sortie_id in own):
            found = repeats_among(new, before.get((new.airframe, new.flown_on), ()))
            done += settle_repeats(session, found, name, new.airframe, choice)
        return tuple(dict.fromkeys(done))

    def _require_plausible(self, block: Block, read: PointColumns) -> None:
        """Refuse days to come and weights that no aircraft of the type has.

        Unknown airframes are told later.
        """
        for day in set(read.flown_on):
            line = read.lines[read.flown_on.index(day)]
            require_flown(day, f"{block.file}, line {line}, column flown_on")
        kinds = [self._flights.types.get(tag, ("", np.nan)) for tag in read.airframe]
        shares = read.values["weight_kg"] / np.array([reference for _, reference in kinds])
        low, high = PLAUSIBLE_SHARES
        for row in np.flatnonzero((shares < low) | (shares > high)).tolist():
            require_plausible_weight(
                float(read.values["weight_kg"][row]),
                *kinds[row],
                where=f"{block.file}, line {read.lines[row]}, column weight_kg",
                turning=read.values["technique"][row] in (GPS_MANOEUVRE, ORDINARY_FLIGHT),
            )

    def _doubt(self, read: PointColumns) -> None:
        """Take back the acceptance of rows that the gate doubts, and remember why."""
        days = {day for day in set(read.flown_on) if day_doubt("", day)}
        odd = {row for row, day in enumerate(read.flown_on) if day in days}
        for row in sorted(odd | set(rows_to_look_at(read.values))):
            values = {name: column[row] for name, column in read.values.items()}
            kind, reference = self._flights.types.get(read.airframe[row], ("", np.nan))
            flown = HeldAgainst(type_name=kind, reference_kg=reference, flown_on=read.flown_on[row])
            reason = doubt_of(values, flown) if values["accepted"] else ""
            if reason:
                read.values["accepted"][row], read.values["reason"][row] = False, reason
                self.doubted[read.lines[row]] = reason

    def _sorties_of(self, block: Block, read: PointColumns) -> list[int]:
        """Return the sortie of each row, adding those that are new."""
        keys = list(zip(read.airframe, read.flown_on, read.sortie, strict=True))
        new: dict[_Key, int] = {}
        for i, key in enumerate(keys):
            if key not in self._numbers:
                new.setdefault(key, i)
        sorties = [self._sortie(block, read, key, i) for key, i in new.items()]
        self._numbers |= zip(new, self._flights.add_sorties(sorties), strict=True)
        return [self._numbers[key] for key in keys]

    def _sortie(self, block: Block, read: PointColumns, key: _Key, row: int) -> NewSortie:
        airframe, flown_on, _ = key
        try:
            self._flights.fit(airframe, flown_on)
        except FleetcalError as error:
            place = f"{block.file}, line {read.lines[row]}"
            raise type(error)(f"{place}: {error.message}", error.hint) from error
        return NewSortie(
            airframe=airframe, flown_on=flown_on, weight_kg=float(read.values["weight_kg"][row])
        )

    def _count_on(self, owners: Sequence[int]) -> list[int]:
        """Return the number of each point within its sortie."""
        numbers = []
        for owner in owners:
            self._points[owner] = self._points.get(owner, 0) + 1
            numbers.append(self._points[owner])
        return numbers

    def _refuse_known(self, block: Block, read: PointColumns) -> None:
        """Refuse points that are in the store already: counted twice they would weigh too much."""
        there = self._flights.points_there(set(read.airframe))
        if not there:
            return
        says: list[Any] = [read.airframe, read.flown_on, read.values["flap_setting"]]
        says += [read.values[name].tolist() for name in ("vic_kt", "kappa", "u_kappa")]
        for line, known in zip(read.lines, zip(*says, strict=True), strict=True):
            if known in there:
                raise MalformedFileError(
                    f"{block.file}, line {line}: the store has this point already, "
                    f"as point {there[known]}",
                    "leave out what is there; newer days only are written by 'fleetcal points list "
                    "--out FILE --flown 2024-07-01..'",
                )
