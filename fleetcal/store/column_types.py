"""Column types that behave the same on SQLite and PostgreSQL.

SQLite drops time zones, keeps NaN as NULL and stores a numpy integer as a blob.
These types settle each of that on the way in, so both databases hold the same.
"""

from __future__ import annotations

import math
import operator
from datetime import UTC, datetime
from typing import Any, SupportsFloat, SupportsIndex

from sqlalchemy import DateTime, Double, Integer
from sqlalchemy.engine import Dialect
from sqlalchemy.types import TypeDecorator, TypeEngine

from fleetcal.errors import DataError
from fleetcal.store.engines.kinds import kind_of


class UtcDateTime(TypeDecorator[datetime]):
    """A moment in UTC, written and read as an aware datetime."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """Turn an aware time into UTC and refuse one without a zone.

        Raises:
            DataError: If the time carries no zone.
        """
        if value is None:
            return None
        if value.utcoffset() is None:
            raise DataError(
                f"the time {value.isoformat()} has no time zone",
                "give times with their zone, best in UTC",
            )
        moment = value.astimezone(UTC)
        return kind_of(dialect).moment(moment)

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """Give the stored moment its zone back."""
        if value is None:
            return None
        return value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)


class RealNumber(TypeDecorator[float]):
    """A double; NaN is kept as NULL, an infinite value is refused."""

    impl = Double
    cache_ok = True

    def load_dialect_impl(self, dialect: Dialect) -> TypeEngine[Any]:
        """Use the database's own word for a double."""
        return dialect.type_descriptor(kind_of(dialect).real)

    def process_bind_param(self, value: SupportsFloat | None, dialect: Dialect) -> float | None:
        """Turn any real scalar (numpy ones too) into a plain float.

        Raises:
            DataError: If the value is infinite.
        """
        if value is None:
            return None
        number = float(value)
        if math.isinf(number):
            raise DataError(
                f"the value {number} cannot be stored",
                "leave a value without limit out (None)",
            )
        # SQLite would drop the sign of a zero, and the other database would keep it.
        return None if math.isnan(number) else number + 0.0


class IntegerColumn(TypeDecorator[int]):
    """An integer, from any scalar that is exactly one."""

    impl = Integer
    cache_ok = True

    def process_bind_param(self, value: SupportsIndex | None, dialect: Dialect) -> int | None:
        """Turn a whole scalar (numpy ones too) into a plain int."""
        return None if value is None else operator.index(value)
