"""An issue is stored before its files appear, so that none is seen that the store does not know."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from fleetcal.errors import DataError
from fleetcal.store import IssueSeries


@contextmanager
def although_stored(series: IssueSeries, number: int) -> Iterator[None]:
    """Say of files that cannot take their places that the store holds the issue all the same.

    Raises:
        DataError: In place of one that says only which file it is.
    """
    try:
        yield
    except DataError as error:
        raise DataError(
            error.message,
            "the store holds the issue all the same; write its files with "
            f"'fleetcal issue again \"{series.group}\" {number} --out FOLDER'",
        ) from error
