"""What databases differ in, as this program meets them; another engine is one more `Kind`.

All else in the store is SQL that every engine has. What a kind leaves as it stands here is what
the standard says.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from datetime import datetime
from enum import Enum
from typing import Any, ClassVar

from sqlalchemy import DOUBLE_PRECISION, URL, Connection, Engine, text
from sqlalchemy.types import TypeEngine

from fleetcal.errors import DataError, FleetcalError, StoreError
from fleetcal.store.engines.guard import Guard
from fleetcal.store.messages import first_line

#: Execution option of engines whose transactions write.
WRITING = "fleetcal_writing"
#: Its values: rows under the lock of the store, or tables, which at first are not there to lock.
ROWS, TABLES = "rows", "tables"


class Passing(Enum):
    """Errors after which the same transaction may succeed: it was undone as a whole."""

    COLLIDED = "another program came between"
    AWAY = "the server does not answer, or has no copy as yet that takes writes"


class Kind:
    """A kind of database."""

    #: How SQLAlchemy and addresses call it.
    name: ClassVar[str]
    #: Another word that addresses may have for it.
    also_called: ClassVar[str] = ""
    #: Whether a store is one file, which is locked, sealed and copied as a whole.
    is_file: ClassVar[bool] = False
    #: Execution options of transactions that see one state and cannot write; of those that write.
    reading: ClassVar[dict[str, Any]] = {}
    writing: ClassVar[dict[str, Any]] = {}
    #: Type of the numbers with a fraction, eight bytes each.
    real: ClassVar[TypeEngine[Any]] = DOUBLE_PRECISION()
    #: What keeps the history as it was written.
    guard: ClassVar[Guard] = Guard()
    #: Whether writers of different types may write at once; see `fleetcal.store.type_locks`.
    is_shared: ClassVar[bool] = False
    #: What to install beside the program.
    extra: ClassVar[str] = ""
    #: What follows its word in an address.
    example: ClassVar[str] = "host/database"

    def completed(self, url: URL) -> URL:
        """Return an address with the driver that is used unless it names one."""
        return url

    def engine(self, url: URL, *, patience_s: float) -> Engine:
        """Return an engine on a database with an address.

        Args:
            url: With its driver.
            patience_s: Seconds to wait for another writer.

        Raises:
            ImportError: If the driver is not installed.
            sqlalchemy.exc.ArgumentError: If there is no such driver.
        """
        raise NotImplementedError

    def lock(self, connection: Connection, revisions: str, *, sharing: bool) -> None:
        """Keep every other writer out until the transaction ends.

        Args:
            connection: To a store whose tables are there.
            revisions: Name of the table with the store's revision.
            sharing: Whether those who share may stay, where `is_shared`.

        Raises:
            StoreError: If there is nothing to lock.
        """

    def ready_to_upgrade(self) -> None:
        """Do what has to be done before alembic is given a connection."""

    def moment(self, moment: datetime) -> datetime:
        """Return a moment in UTC as the database takes it."""
        return moment

    def numbers(self, table: Any, connection: Connection, count: int) -> Sequence[int]:
        """Return numbers for new rows that no other program is given.

        Args:
            connection: Of a writing transaction.
        """
        raise NotImplementedError

    def number_on(self, table: Any, connection: Connection) -> None:
        """Let new rows be numbered after those that are there."""

    def login(self, connection: Connection) -> str | None:
        """Return whom the database itself let in; None if it asks nobody."""
        return None

    def damage(self, connection: Connection) -> Iterator[str]:
        """Yield what the database itself finds broken."""
        return iter(())

    def orphans(self, connection: Connection) -> Collection[tuple[Any, ...]]:
        """Return (table, row, parent) of rows that lost what they refer to, if it can happen."""
        return ()

    def refuse_mixture(self, connection: Connection, label: str) -> None:
        """Raise if a store's parts are not of one moment.

        Raises:
            StoreError: If so.
        """

    def owns(self, error: BaseException | None) -> bool:
        """Tell whether an error is of this database's driver."""
        return False

    def passing(self, error: BaseException | None, *, known: bool) -> Passing | None:
        """Tell whether a transaction that failed may succeed when it is done again.

        Args:
            error: The driver's.
            known: Whether the server has answered before, or the address names several.
        """
        return None

    def made_meanwhile(self, error: BaseException | None) -> bool:
        """Tell whether what was to be made is there already, by another program's doing."""
        return False

    def lacks_right(self, error: BaseException | None) -> bool:
        """Tell whether the user may not do what was tried."""
        return False

    def broken_rule(self, error: BaseException | None) -> str:
        """Return the name of the rule that a value broke, or the driver's own first line."""
        return first_line(error)

    def roles_sql(
        self,
        database: str | None,
        readers: Sequence[str],
        writers: Sequence[str],
        *,
        schema: str,
        make: bool,
    ) -> str:
        """Return the statements that let roles read or write a store; see `fleetcal.store.roles`.

        Args:
            database: Its name, None if it is not known.
            readers, writers: Roles, each named once, at least one.
            schema: That the tables are in.
            make: Whether the roles are made first.

        Raises:
            DataError: If the database knows no roles, or a name cannot be one.
        """
        raise DataError(
            f"a {self.name} database knows no roles",
            "whoever may reach its machines may read and write it",
        )

    def explain(self, error: BaseException, label: str, statement: str) -> FleetcalError:
        """Return what an error of the driver means for the person at the keyboard.

        Args:
            label: How the store is called in messages.
            statement: That failed; empty if unknown.
        """
        raise NotImplementedError


def locked_by_row(connection: Connection, revisions: str, lock: str) -> None:
    """Lock the row with the store's revision, which every engine with row locks has.

    Raises:
        StoreError: If it is missing.
    """
    query = text(f"SELECT version_num FROM {revisions} FOR {lock}")
    if connection.execute(query).first() is None:
        raise StoreError("the store has lost its revision number", "go back to a saved copy")
