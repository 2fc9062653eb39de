"""Stores of older revisions: how to make one, and every value that it holds."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from alembic import command
from sqlalchemy import Engine, inspect, text

from fleetcal.store import upgrade
from fleetcal.store.connection import file_engine, for_upgrading, server_engine
from fleetcal.store.location import locate


@contextmanager
def engine_at(place: str) -> Iterator[Engine]:
    location = locate(place)
    if location.path is not None:
        mode = "rw" if location.path.exists() else "rwc"
        engine = file_engine(location.path, patience_s=1.0, mode=mode, foreign_keys=False)
    else:
        assert location.url is not None
        engine = server_engine(location.url, patience_s=1.0)
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


def all_values(place: str) -> dict[str, list[tuple[object, ...]]]:
    """Every value of every table, by plain SQL."""
    with engine_at(place) as engine, engine.connect() as connection:
        tables = set(inspect(connection).get_table_names()) - {"fleetcal_revision"}
        return {
            name: sorted(
                tuple(row) for row in connection.execute(text(f"SELECT * FROM {name} ORDER BY id"))
            )
            for name in tables
        }
