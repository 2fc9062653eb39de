"""Rows by SQL in words: straight from a file, or through the session of any database.

What everyday's commands read is asked so, because loading SQLAlchemy and its models takes longer
than the answer (`fleetcal.store.engines.file_reading`); what writes uses models. The SQL is what
every engine has; values stand in it as ``:name``. Engines differ in what comes back for days,
moments and truth: `day_of`, `moment_of` and `bool` settle it.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Iterable, Iterator, Mapping
from datetime import UTC, date, datetime
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, TypeAlias

if TYPE_CHECKING:
    from sqlalchemy.orm import Session


class PlainReader(ABC):
    """What rows can be asked of without SQLAlchemy."""

    @abstractmethod
    def rows(self, sql: str, values: Mapping[str, object]) -> Iterable[tuple[Any, ...]]:
        """Return the rows of a query, with values as ``:name``."""


#: What rows can be asked of, in a transaction that sees one state: a file by itself, or the
#: session of a server or of a transaction that writes.
Reader: TypeAlias = "PlainReader | Session"


def ask(
    reader: Reader,
    sql: str,
    values: Mapping[str, object] = MappingProxyType({}),
    *,
    at_once: int | None = None,
) -> Iterator[tuple[Any, ...]]:
    """Return the rows of a query.

    Args:
        sql: With values as ``:name``.
        values: By name; days as dates.
        at_once: Rows that are fetched at a time; all when None.
    """
    if isinstance(reader, PlainReader):
        return iter(reader.rows(sql, values))
    from sqlalchemy import Date, bindparam, text  # loaded with the session

    reader.flush()  # as a query by models would
    options = {} if at_once is None else {"yield_per": at_once}
    days = [bindparam(name, type_=Date) for name, value in values.items() if type(value) is date]
    query = text(sql).bindparams(*days)
    return iter(reader.execute(query, dict(values), execution_options=options))


def numbers_in_sql(numbers: Iterable[int]) -> str:
    """Return row numbers for ``IN (...)``, which may not be empty: no row has number 0."""
    return ", ".join(str(int(number)) for number in (0, *numbers))


def texts_in_sql(texts: Iterable[str]) -> tuple[str, dict[str, str]]:
    """Return places for ``IN (...)`` with the values that go there; one text or more."""
    values = {f"text_{number}": one for number, one in enumerate(texts)}
    return ", ".join(f":{name}" for name in values), values


def day_of(value: Any) -> date:
    """Return a day as databases give it."""
    return value if isinstance(value, date) else date.fromisoformat(value)


def moment_of(value: Any) -> datetime:
    """Return a moment as databases give it, aware and in UTC."""
    moment = value if isinstance(value, datetime) else datetime.fromisoformat(value)
    return moment.replace(tzinfo=UTC) if moment.tzinfo is None else moment.astimezone(UTC)
