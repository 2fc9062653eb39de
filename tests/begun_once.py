"""The tables of an empty file made once by the upgrade steps, then copied by their own SQL.

Every store begins as all upgrade steps one after the other, a third of a second; tests begin
thousands. What the steps leave in an empty file is always the same: each process of the tests
lets them run once and gives the next empty files what stood there then. A file that holds
anything takes the steps, and so do servers and programs that a test starts.
"""

from __future__ import annotations

from typing import Any

import alembic.command
from sqlalchemy import Connection

from fleetcal.store.schema_state import REVISION_TABLE

_run_steps = alembic.command.upgrade
# By the folder of the steps: some tests add a step.
_left: dict[str, list[str]] = {}


def begin_once() -> None:
    """Let stores in empty files be begun by the SQL that the steps left in the first of them."""
    vars(alembic.command)["upgrade"] = _upgrade


def _upgrade(config: Any, revision: str) -> None:
    connection = config.attributes["connection"]
    is_empty = connection.dialect.name == "sqlite" and not _tables(connection)
    steps = config.get_main_option("script_location")
    if is_empty and revision == "head" and steps in _left:
        for statement in _left[steps]:
            connection.exec_driver_sql(statement)
        return
    _run_steps(config, revision)
    if is_empty and revision == "head":
        _left[steps] = [*_tables(connection), _revision(connection)]


def _tables(connection: Connection) -> list[str]:
    """Return the statements that make what a file holds: tables first, then indexes, triggers."""
    return [
        str(statement)
        for (statement,) in connection.exec_driver_sql(
            "SELECT sql FROM sqlite_master WHERE sql IS NOT NULL"
            " ORDER BY type <> 'table', type, rowid"
        )
    ]


def _revision(connection: Connection) -> str:
    """Return the statement that notes how far the steps went."""
    number = connection.exec_driver_sql(f"SELECT version_num FROM {REVISION_TABLE}").scalar_one()
    return f"INSERT INTO {REVISION_TABLE} VALUES ('{number}')"
