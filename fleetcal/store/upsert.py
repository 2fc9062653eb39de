"""Add a row or bring it up to date, known by the name people give it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Hashable, Iterable
from typing import Any, Generic, TypeVar

from sqlalchemy import select
from sqlalchemy.orm import Session

from fleetcal.errors import DataError
from fleetcal.store.base import Base
from fleetcal.store.description import SaveCounts
from fleetcal.store.explained import refusals_named

Row = TypeVar("Row", bound=Base)


class Tally:
    """Counts what became of the things that were saved."""

    def __init__(self) -> None:
        self._counts: Counter[str] = Counter()

    def note(self, outcome: str) -> None:
        """Count one ``added``, ``changed`` or ``unchanged``."""
        self._counts[outcome] += 1

    def result(self) -> SaveCounts:
        """Return the counts so far."""
        return SaveCounts(*(self._counts[name] for name in ("added", "changed", "unchanged")))


class Shelf(Generic[Row]):
    """All rows of one table, by their natural key.

    Args:
        model: Mapped class.
        key: Names of the attributes that together are the natural key.
        called: What such a row is called in messages.
    """

    def __init__(
        self, session: Session, model: type[Row], key: tuple[str, ...], called: str
    ) -> None:
        self._session = session
        self._model = model
        self._key = key
        self._called = called
        self.rows: dict[tuple[Hashable, ...], Row] = {
            tuple(getattr(row, name) for name in key): row for row in session.scalars(select(model))
        }

    def put(
        self,
        key: tuple[Hashable, ...],
        values: dict[str, Any],
        *,
        shown: str,
        guard: Callable[[Row | None, set[str]], None] | None = None,
    ) -> tuple[Row, str]:
        """Add the row with this key, or change what differs.

        Args:
            values: The attributes that are not part of the key.
            shown: How this row is named in messages.
            guard: Called with the row (None for a new one) and the names of the attributes that
                would change; raises to refuse.

        Returns:
            outcome: ``added``, ``changed`` or ``unchanged``.

        Raises:
            DataError: If a value breaks a rule of the table.
        """
        row = self.rows.get(key)
        differing = {name for name in values if row is None or getattr(row, name) != values[name]}
        if row is not None and not differing:
            return row, "unchanged"
        if guard is not None:
            guard(row, differing)
        outcome = "added" if row is None else "changed"
        if row is None:
            row = self._model(**dict(zip(self._key, key, strict=True)), **values)
            self._session.add(row)
            self.rows[key] = row
        else:
            for name in differing:
                setattr(row, name, values[name])
        with refusals_named(f"{self._called} {shown}"):
            self._session.flush()
        return row, outcome


def refuse_twice(called: str, names: Iterable[Hashable]) -> None:
    """Raise if a description names the same thing twice.

    Raises:
        DataError: If so.
    """
    for name, count in Counter(names).items():
        if count > 1:
            shown = " / ".join(str(part) for part in name) if isinstance(name, tuple) else name
            raise DataError(
                f"the description holds {called} {shown} {count} times", "keep one of them"
            )
