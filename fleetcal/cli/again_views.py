"""How flights that were reduced again are printed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fleetcal.cli.output import Column, View, text_table
from fleetcal.cli.shown_units import shown_amount
from fleetcal.wording import counted

if TYPE_CHECKING:
    from fleetcal.services.flights.again_lines import AgainPoint, AgainReduction


def _answer(found: AgainReduction) -> Iterator[str]:
    counts = {flight.outcome: 0 for flight in found.flights}
    for flight in found.flights:
        counts[flight.outcome] += 1
    outcomes = ", ".join(f"{count} {outcome}" for outcome, count in counts.items())
    yield f"{counted(len(found.flights), 'flight')} reduced again: {outcomes}."
    moved = [point for point in found.points if _moved(point) is not None]
    if moved:
        yield _largest(max(moved, key=lambda point: _moved(point) or 0.0))
    if any(flight.outcome == "would change" for flight in found.flights):
        yield "Nothing was stored; '--replace' does, and 'fleetcal undo' takes it back."


def _moved(point: AgainPoint) -> float | None:
    """Return by how much a correction moves, None for a point that comes or goes."""
    if point.dvpc_kt_before is None or point.dvpc_kt_after is None:
        return None
    return abs(point.dvpc_kt_after - point.dvpc_kt_before)


def _largest(point: AgainPoint) -> str:
    if f"{_moved(point):.1f}" == "0.0":
        return "No correction moves by as much as 0.1 kt."
    before, after = (
        shown_amount(value or 0.0, "kt", 1, sign=True)
        for value in (point.dvpc_kt_before, point.dvpc_kt_after)
    )
    speed = shown_amount(point.vic_kt, "kt", 1)
    return f"What to add to the IAS moves most at {speed}: {before} before, {after} now."


def _foot(found: AgainReduction) -> Iterator[str]:
    for flight in found.flights:
        where = f"Sortie {flight.sortie_id} of {flight.airframe}, {flight.file}"
        if flight.error:
            yield f"{where}: stays as it is: {flight.error}."
            if flight.hint:
                yield f"  What to do: {flight.hint}."
        elif flight.outcome != "alike":
            moved = f" ({'; '.join(flight.moved)})" if flight.moved else ""
            yield f"{where}: {flight.outcome}{moved}."
    for point in found.points:
        if None not in (one := (point.accepted_before, point.accepted_after)) and one[0] != one[1]:
            word = "accepted" if point.accepted_after else "not accepted"
            yield f"Point {point.number_before} of sortie {point.sortie_id}: {word} now."
        if point.decision:
            number = point.number_before
            yield f"Point {number} of sortie {point.sortie_id}: decision {point.decision}."


_NAMED = [Column("sortie_id"), Column("number_before"), Column("number_after")]
_KAPPA = [
    *_NAMED,
    Column("outcome"),
    Column("kappa_before", 4, sign=True),
    Column("u_kappa_before", 4),
    Column("kappa_after", 4, sign=True),
    Column("u_kappa_after", 4),
]
_CORRECTION = [
    *_NAMED,
    Column("vic_kt", 1),
    Column("dvpc_kt_before", 2, sign=True),
    Column("u_dvpc_kt_before", 2),
    Column("dvpc_kt_after", 2, sign=True),
    Column("u_dvpc_kt_after", 2),
]
_PLAIN = [
    Column("sortie"),
    Column("ias_kt", 1),
    Column("before_kt", 1, sign=True, heading="add to IAS before"),
    Column("now_kt", 1, sign=True, heading="add to IAS now"),
    Column("outcome"),
]


@dataclass(frozen=True, kw_only=True)
class _Correction:
    """A correction before and now; None where the point comes or goes."""

    sortie: int
    ias_kt: float
    before_kt: float | None
    now_kt: float | None
    outcome: str


def _table(found: AgainReduction) -> Iterator[str]:
    rows = [
        _Correction(
            sortie=point.sortie_id,
            ias_kt=point.vic_kt,
            before_kt=point.dvpc_kt_before,
            now_kt=point.dvpc_kt_after,
            outcome=point.outcome,
        )
        for point in found.points
    ]
    if rows:
        yield from text_table(rows, _PLAIN)


def _details(found: AgainReduction) -> Iterator[str]:
    yield from ("", "Position error; u is one standard uncertainty")
    yield from text_table(found.points, _KAPPA)
    yield from ("", "Correction of the airspeed, added to the reading")
    yield from text_table(found.points, _CORRECTION)


AGAIN: View[AgainReduction] = View(
    kind="reduced_again",
    rows="points",
    columns=[*_KAPPA, *_CORRECTION[3:], Column("accepted_before"), Column("accepted_after")],
    answer=_answer,
    body=_table,
    foot=_foot,
    details=_details,
    details_hint="Uncertainties and kappa, before and after: --details.",
    cautioned=True,
    tells=lambda found: bool(found.points),
)
