"""Everything that can go wrong and be explained, with the exit code each kind ends in.

The first digit of an exit code names the family (3 data, 4 store, 5 fit), the
second digit, where there is one, the particular trouble. The library raises;
only the command line turns an error into text and an exit code.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager


class FleetcalError(Exception):
    """Base of all errors that fleetcal explains.

    Args:
        message: What is wrong and where (file, line, column, value), in one line.
        hint: What to do about it, in one line.

    Attributes:
        warnings: What was assumed or left out before: often the cause.
    """

    exit_code = 1

    def __init__(self, message: str, hint: str = "") -> None:
        super().__init__(message)
        self.message = message
        self.hint = hint
        self.warnings: tuple[str, ...] = ()


@contextmanager
def warned_of(warnings: Iterable[str]) -> Iterator[None]:
    """Let an error that comes out of a block carry the warnings known by then."""
    try:
        yield
    except FleetcalError as error:
        error.warnings = tuple(dict.fromkeys((*warnings, *error.warnings)))
        raise


class DataError(FleetcalError):
    """Bad or missing data."""

    exit_code = 3


class EmptyFileError(DataError):
    """A file without content, or with headings only."""

    exit_code = 31


class NotTextError(DataError):
    """A file that is not text."""

    exit_code = 32


class MissingColumnError(DataError):
    """A quantity that the work cannot do without is not in the file."""

    exit_code = 33


class MalformedFileError(DataError):
    """Text that does not hold together as a table or a description."""

    exit_code = 34


class UnknownNameError(DataError):
    """A tag or name that is not in the store."""

    exit_code = 35


class ImplausibleError(DataError):
    """Values that contradict each other or cannot be true."""

    exit_code = 36


class NoRunError(DataError):
    """A flight in which no run could be solved."""

    exit_code = 37


class OutOfRangeError(DataError):
    """A value outside the range in which a relation holds."""

    exit_code = 38


class ConflictError(DataError):
    """Two stores say different things, and nobody has chosen a side."""

    exit_code = 39


class StoreError(FleetcalError):
    """The store cannot be opened, read or written."""

    exit_code = 4


class ReadOnlyStoreError(StoreError):
    """The store, or the folder it is in, cannot be written."""

    exit_code = 41


class NewerStoreError(StoreError):
    """The store was written by a newer program."""

    exit_code = 42


class NotAStoreError(StoreError):
    """The file is not a store of this program."""

    exit_code = 43


class BusyStoreError(StoreError):
    """Another program holds the store for too long."""

    exit_code = 44


class FitError(FleetcalError):
    """A fit is not possible with this data."""

    exit_code = 5


class WorkersError(FleetcalError):
    """Those who were to work on a folder of flights cannot, or not any more."""

    exit_code = 7
