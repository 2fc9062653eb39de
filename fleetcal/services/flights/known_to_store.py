"""A solved flight whose large errors are held against what the store knows of the port."""

from __future__ import annotations

from dataclasses import replace

from fleetcal.services.flights.reduction import Reduction
from fleetcal.services.known_port import known_port
from fleetcal.services.large_error import doubts, is_large, is_suspect, sizes
from fleetcal.store import Store


def held_against_store(store: Store, result: Reduction, sha256: str) -> Reduction:
    """Take back the acceptance of runs that the store contradicts, or the doubt about others.

    Args:
        result: With airframe and day.
        sha256: Of the file that was reduced.
    """
    suspect = [run for run in result.runs if run.accepted and is_suspect(run)]
    if not suspect or result.airframe is None or result.flown_on is None:
        return result
    with store.reading() as session:
        known = known_port(session, result.airframe, result.flown_on, suspect, sha256)
    books = {run.number: known.bears_out(run) for run in suspect}
    against = {run.number: known.contradiction(run) for run in suspect if is_large(run)}
    runs = tuple(
        replace(run, accepted=False, reason=against[run.number]) if against.get(run.number) else run
        for run in result.runs
    )
    borne_out = {number for number, book in books.items() if book}
    before = doubts(result.runs, "run")
    kept = [warning for warning in result.warnings if warning not in before]
    notes = [
        f"Run {run.number} is off by {sizes([run])}, as handbook {books[run.number]} has it there."
        for run in suspect
        if books[run.number]
    ]
    return replace(
        result,
        runs=runs,
        warnings=(*kept, *doubts(runs, "run", borne_out)),
        notes=(*result.notes, *notes),
    )
