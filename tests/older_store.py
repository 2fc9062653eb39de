"""Stores of older revisions: how to make one, and every value that it holds."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from alembic import command
from sqlalchemy import Connection, Engine, inspect, text
from sqlalchemy.orm import Session

from fleetcal.store import Store, upgrade
from fleetcal.store.connection import for_upgrading
from fleetcal.store.engines.kinds import SERVERS, file_engine
from fleetcal.store.location import locate

Values = dict[str, list[tuple[object, ...]]]


@contextmanager
def engine_at(place: str) -> Iterator[Engine]:
    location = locate(place)
    if location.path is not None:
        mode = "rw" if location.path.exists() else "rwc"
        engine = file_engine(location.path, patience_s=1.0, mode=mode, foreign_keys=False)
    else:
        assert location.url is not None
        engine = SERVERS["postgresql"].engine(location.url, patience_s=1.0)
    yield engine
    engine.dispose()


def step(place: str, move: str, to: str) -> None:
    config = upgrade.alembic_config()
    with (
        engine_at(place) as engine,
        for_upgrading(engine).connect() as connection,
        connection.begin(),
    ):
        config.attributes["connection"] = connection
        getattr(command, move)(config, to)
        upgrade.refuse_orphans(connection, "the store")


@contextmanager
def filling(place: str, revision: str) -> Iterator[Session]:
    """Write with the tables of today; then the store goes back to an older revision."""
    step(place, "upgrade", "head")
    with engine_at(place) as engine, Store(engine, "to go back").writing() as session:
        yield session
    step(place, "downgrade", revision)


def all_values(place: str) -> Values:
    """Every value of every table, by plain SQL; of terms, what older revisions told as well."""
    with engine_at(place) as engine, engine.connect() as connection:
        tables = set(inspect(connection).get_table_names()) - {"fleetcal_revision"}
        return {
            name: sorted(
                tuple(row)
                for row in connection.execute(
                    text(f"SELECT {_columns(connection, name)} FROM {name} ORDER BY id")
                )
            )
            for name in tables
        }


def as_then(now: Values, then: Values) -> Values:
    """Return of all values only what another revision had: its tables, its columns."""
    widths = {name: len(rows[0]) if rows else 0 for name, rows in then.items()}
    return {name: sorted(row[:width] for row in now[name]) for name, width in widths.items()}


def _columns(connection: Connection, table: str) -> str:
    """Return the columns to compare: whose error a term is, only as far as it was kept before."""
    names = [column["name"] for column in inspect(connection).get_columns(table)]
    if table != "uncertainty_term":
        return ", ".join(names)
    told = {"owner": "CASE WHEN owner = 'point' THEN 0 ELSE 1 END"}
    told["shared"] = "CASE WHEN shared THEN 1 ELSE 0 END"
    return ", ".join(told.get(name, name) for name in sorted(names, key=lambda n: n in told))
