"""Add many rows of one table, given by column, without an object for each."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from itertools import repeat
from typing import TYPE_CHECKING, Any

from sqlalchemy.orm import Session

from fleetcal.errors import DataError
from fleetcal.store.base import Base
from fleetcal.store.row_numbers import next_numbers

if TYPE_CHECKING:
    import numpy as np


def add_columns(
    session: Session, model: type[Base], count: int, columns: Mapping[str, Any]
) -> Sequence[int]:
    """Add rows and return their numbers.

    Args:
        session: Of a writing transaction.
        model: Whose table gets the rows. They are not written down in the history.
        count: Rows to be added.
        columns (mapping of str to ndarray, sequence or one value): By column, all but the number:
            an array of floats (NaN for nothing), a list of values, of whole numbers all or none
            plain, or one value for every row.

    Raises:
        DataError: If a number has no limit.
        sqlalchemy.exc.IntegrityError: If a value breaks a rule of the table.
    """
    if not count:
        return range(0)
    table: Any = model.__table__
    connection = session.connection()
    numbers = next_numbers(table, connection, count)
    names = ["id", *columns]
    parts = [numbers, *(_as_stored(connection, table.c[n], columns[n]) for n in columns)]
    mark = "?" if connection.dialect.paramstyle == "qmark" else "%s"
    sql = f"INSERT INTO {table.name} ({', '.join(names)}) VALUES ({', '.join([mark] * len(names))})"
    rows = list(zip(*parts, strict=False))
    connection.exec_driver_sql(sql, rows)
    return numbers


def _as_stored(connection: Any, column: Any, values: Any) -> Iterable[Any]:
    """Return the values of a column as the driver takes them."""
    import numpy as np  # which whoever only reads does without

    if isinstance(values, np.ndarray):
        return _plain_floats(column.name, values)
    if isinstance(values, range) or (isinstance(values, list) and type(values[0]) is int):
        return values
    convert = column.type.dialect_impl(connection.dialect).bind_processor(connection.dialect)
    if not isinstance(values, Sequence) or isinstance(values, str):
        return repeat(values if convert is None else convert(values))
    if convert is None:
        return values
    known = {value: convert(value) for value in set(values)}
    return [known[value] for value in values]


def _plain_floats(name: str, values: np.ndarray[Any, Any]) -> list[float | None]:
    import numpy as np

    if np.isinf(values).any():
        raise DataError(f"{name}: a value without limit cannot be stored", "leave it out")
    plain = values + 0.0  # a zero without its sign
    missing = np.isnan(plain)
    if not missing.any():
        return list(plain.tolist())
    cells = plain.astype(object)
    cells[missing] = None
    return list(cells.tolist())
