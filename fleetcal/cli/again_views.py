"""How flights that were reduced again are printed."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from fleetcal.cli.output import Column, View, text_table

if TYPE_CHECKING:
    from fleetcal.services.flights.again_lines import AgainReduction


def _head(found: AgainReduction) -> Iterator[str]:
    counts = {flight.outcome: 0 for flight in found.flights}
    for flight in found.flights:
        counts[flight.outcome] += 1
    outcomes = ", ".join(f"{count} {outcome}" for outcome, count in counts.items())
    flights = "flight" if len(found.flights) == 1 else "flights"
    yield f"{len(found.flights)} {flights} reduced again: {outcomes}"
    yield "u is one standard uncertainty"


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
    if any(flight.outcome == "would change" for flight in found.flights):
        yield "Nothing was stored; '--replace' does, and 'fleetcal undo' takes it back."


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


def _tables(found: AgainReduction) -> Iterator[str]:
    if found.points:
        yield from ("", "Position error")
        yield from text_table(found.points, _KAPPA)
        yield from ("", "Correction of the airspeed, added to the reading")
        yield from text_table(found.points, _CORRECTION)


AGAIN: View[AgainReduction] = View(
    kind="reduced_again",
    rows="points",
    columns=[*_KAPPA, *_CORRECTION[3:], Column("accepted_before"), Column("accepted_after")],
    head=_head,
    body=_tables,
    foot=_foot,
    cautioned=True,
    tells=lambda found: bool(found.points),
)
