"""Give stored points the number of their run, where a former version counted solved runs only.

The upgrade of a store does it, and taking back a change that an older version made; so tables
are named here by what they had at that upgrade, and not by the models.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from typing import Any, Final

from sqlalchemy import Connection, Date, RowMapping, column, func, select, table, update

from fleetcal.store.run_numbers import LEG_VALUES, POINT_VALUES, runs_of_points

_SORTIE: Final = table(
    "sortie",
    *(column(name) for name in ("id", "airframe_id", "source_file_id")),
    column("flown_on", Date()),
)
_AIRFRAME: Final = table("airframe", column("id"), column("tag"))
_FILE: Final = table("source_file", column("id"), column("name"))
_POINT: Final = table(
    "calibration_point", column("id"), column("sortie_id"), *map(column, POINT_VALUES)
)
_LEG: Final = table("leg", column("sortie_id"), *map(column, LEG_VALUES))
_POWER: Final = table(
    "cruise_power", *map(column, ("id", "calibration_point_id", "origin", "doubt"))
)
_OUT_OF_THE_WAY: Final = 1_000_000  # numbers of a sortie must differ at every moment


@dataclass(frozen=True)
class Renumbered:
    """What was mended.

    Attributes:
        sorties, points: Whose numbers were mended.
        notes: A sentence for each sortie whose runs are unknown, and for each power that was
            read from the log for another run.
    """

    sorties: int
    points: int
    notes: tuple[str, ...]


@dataclass(frozen=True)
class _Flown:
    sortie_id: int
    name: str
    file: str


def read_for_another_run(read_for: int, run: int) -> str:
    """Say what is wrong with a power that was read from the log for another run.

    Args:
        read_for, run: The run whose legs it was read over, and the one that the point is of.
    """
    return f"it was read from the log over run {read_for}, and the point is of run {run}"


#: The same where the run cannot be told.
READ_FOR_NO_RUN: Final = "it was read from the log, and the legs do not show which run the point is"


def give_run_numbers(connection: Connection, sorties: Collection[int] | None = None) -> Renumbered:
    """Mend the numbers of points, and mark the powers that were read for another run.

    Args:
        connection: In a writing transaction.
        sorties (collection of int): Only these; all when left out.
    """
    mended, count, notes = 0, 0, list[str]()
    for flown in _to_look_at(connection, sorties):
        points = _rows(connection, _POINT, flown.sortie_id, _POINT.c.number)
        legs = _rows(connection, _LEG, flown.sortie_id, _LEG.c.run_number, _LEG.c.leg_number)
        runs = runs_of_points(points, legs)
        if runs is None:
            notes.append(_named(flown))
            notes += _doubt(connection, flown, {p["id"]: READ_FOR_NO_RUN for p in points})
            continue
        pairs = zip(points, runs, strict=True)
        changed = {point["id"]: (point["number"], run) for point, run in pairs}
        changed = {key: pair for key, pair in changed.items() if pair[0] != pair[1]}
        if not changed:
            continue
        _number(connection, {key: run + _OUT_OF_THE_WAY for key, (_, run) in changed.items()})
        _number(connection, {key: run for key, (_, run) in changed.items()})
        why = {key: read_for_another_run(*pair) for key, pair in changed.items()}
        notes += _doubt(connection, flown, why)
        mended, count = mended + 1, count + len(changed)
    return Renumbered(mended, count, tuple(notes))


def _to_look_at(connection: Connection, sorties: Collection[int] | None) -> Iterator[_Flown]:
    """Yield the sorties whose runs are not numbered as points were: from 1, one after the other."""
    run_count = func.count(_LEG.c.run_number.distinct())
    runs = select(_LEG.c.sortie_id, run_count, func.max(_LEG.c.run_number)).group_by(
        _LEG.c.sortie_id
    )
    counts = select(_POINT.c.sortie_id, func.count(), func.max(_POINT.c.number))
    points = {
        sortie: (count, last)
        for sortie, count, last in connection.execute(counts.group_by(_POINT.c.sortie_id))
    }
    odd = [
        sortie
        for sortie, count, last in connection.execute(runs.order_by(_LEG.c.sortie_id)).all()
        if sortie in points and not count == last == points[sortie][0] == points[sortie][1]
    ]
    for number in odd:
        if sorties is not None and number not in sorties:
            continue
        query = (
            select(_AIRFRAME.c.tag, _SORTIE.c.flown_on, _FILE.c.name)
            .select_from(_SORTIE)
            .join(_AIRFRAME, _AIRFRAME.c.id == _SORTIE.c.airframe_id)
            .join(_FILE, _FILE.c.id == _SORTIE.c.source_file_id)
            .where(_SORTIE.c.id == number)
        )
        tag, flown_on, file = connection.execute(query).one()
        yield _Flown(number, f"sortie {number} of {tag} on {flown_on.isoformat()}", file)


def _rows(connection: Connection, which: Any, sortie: int, *order: Any) -> list[RowMapping]:
    query = select(which).where(which.c.sortie_id == sortie).order_by(*order)
    return list(connection.execute(query).mappings())


def _number(connection: Connection, numbers: dict[int, int]) -> None:
    for point, number in numbers.items():
        connection.execute(update(_POINT).where(_POINT.c.id == point).values(number=number))


def _named(flown: _Flown) -> str:
    return (
        f"{flown.name}: its stored legs do not show which run each point is; the numbers of its "
        f"points stay until it is reduced again with 'fleetcal reduce {flown.file} --again "
        "--replace'"
    )


def _doubt(connection: Connection, flown: _Flown, why: dict[int, str]) -> Iterator[str]:
    """Mark the powers of points that were read from the log, and yield what was marked."""
    owners: dict[int, list[int]] = defaultdict(list)
    query = select(_POWER.c.id, _POWER.c.calibration_point_id).where(
        _POWER.c.origin == "log", _POWER.c.doubt == "", _POWER.c.calibration_point_id.in_(why)
    )
    for power, point in connection.execute(query.order_by(_POWER.c.calibration_point_id)):
        owners[point].append(power)
    for point, powers in owners.items():
        doubt = update(_POWER).where(_POWER.c.id.in_(powers)).values(doubt=why[point])
        connection.execute(doubt)
        yield (
            f"the power of point {point} ({flown.name}) is left out of cruise: {why[point]}; "
            f"note it again with 'fleetcal power --log {flown.file}'"
        )
