"""What is understood of a log, in sentences."""

from __future__ import annotations

from collections.abc import Iterator

from fleetcal.services.flights.understand_log import LogUnderstanding
from fleetcal.wording import counted


def readiness(log: LogUnderstanding) -> str:
    """Return whether a log can be reduced."""
    if log.lacking:
        return f"The log cannot be reduced as it is: {log.lacking.removesuffix('.')}."
    return f"Everything that a reduction needs is in {log.source}."


def log_sentences(log: LogUnderstanding) -> Iterator[str]:
    """Tell what kind of log it is, when it begins, and where its tracks count from."""
    form = f", {log.separator} between cells, decimal {log.decimal}" if log.separator else ""
    yield f"Read as {log.kind}, {counted(log.rows, 'row')}{form}."
    when = f"It begins {log.begins_utc}" if log.begins_utc else "It has no date"
    every = f", a sample every {log.interval_s:g} s" if log.interval_s else ""
    parts = f", {log.parts} parts" if log.parts > 1 else ""
    yield f"{when}{every}{parts}; tracks count from {_north(log.north)}."


def _north(north: str) -> str:
    return "a north that is not stated" if north == "unknown" else f"{north} north"


def log_remarks(log: LogUnderstanding) -> Iterator[str]:
    """Tell what was not understood, and what to do where something is lacking."""
    if log.not_understood:
        yield f"Not understood: {', '.join(log.not_understood)}."
    if log.lacking and log.hint:
        yield f"What to do: {log.hint}"
