"""Moments and days as text that sorts as time does."""

from __future__ import annotations

from datetime import UTC, date, datetime


def moment_text(moment: datetime) -> str:
    """Return a moment in UTC with microseconds, always of the same length.

    Args:
        moment: Aware.
    """
    return moment.astimezone(UTC).isoformat(timespec="microseconds")


def as_moment(text: str) -> datetime:
    """Return the moment that `moment_text` wrote."""
    return datetime.fromisoformat(text)


def as_day(text: str) -> date:
    """Return the day that its ISO text names."""
    return date.fromisoformat(text)
