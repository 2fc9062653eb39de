"""Who may upgrade a store on a server: its owner, and nobody who only reads or writes it."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import psycopg
import pytest
from sqlalchemy import text
from sqlalchemy.engine import make_url

from fleetcal.errors import ReadOnlyStoreError
from fleetcal.store import open_store, schema_state
from fleetcal.store.roles import roles_sql
from tests.store.invented_rows import fill_every_table, fly
from tests.store.upgrade_step import REBUILDING

NEW_TABLE = REBUILDING.replace(
    "\ndef downgrade",
    "\n    op.create_table('later', sa.Column('id', sa.Integer))\n\ndef downgrade",
)


@pytest.fixture
def granted(postgres_store_url: str) -> Iterator[Callable[[str], str]]:
    """Return a function that gives the address of a reader or a writer of a filled store."""
    with open_store(postgres_store_url) as store:
        fill_every_table(store)
    sql = roles_sql(postgres_store_url, ("readers",), ("writers",))
    with psycopg.connect(postgres_store_url, autocommit=True) as connection:
        connection.execute(sql.encode())
        for role in ("readers", "writers"):
            connection.execute(f"ALTER ROLE {role} LOGIN")
    url = make_url(postgres_store_url)
    yield lambda role: url.set(username=role).render_as_string(hide_password=False)
    with psycopg.connect(postgres_store_url, autocommit=True) as connection:
        connection.execute("DROP OWNED BY readers, writers")
        connection.execute("DROP ROLE readers, writers")


@pytest.mark.long
@pytest.mark.parametrize("role", ["readers", "writers"])
def test_an_older_store_is_upgraded_by_its_owner_alone(
    role: str,
    granted: Callable[[str], str],
    postgres_store_url: str,
    next_step: Callable[[str], None],
) -> None:
    old = schema_state.NEWEST_REVISION
    next_step(NEW_TABLE)
    with pytest.raises(ReadOnlyStoreError, match=f"of revision {old}, this program") as caught:
        open_store(granted(role), create=False)
    assert "may not upgrade it" in caught.value.message
    assert "ask the owner of the database to upgrade it" in caught.value.hint
    open_store(postgres_store_url, create=False).close()
    # Tables that an upgrade makes are covered by the rights that were given before it.
    with open_store(granted(role), create=False) as store:
        with store.reading() as session:
            assert session.execute(text("SELECT count(*) FROM later")).scalar() == 0
        if role == "writers":
            with store.writing() as session:
                fly(session)


def test_a_writer_cannot_begin_a_store(postgres_store_url: str) -> None:
    with psycopg.connect(postgres_store_url, autocommit=True) as connection:
        connection.execute("CREATE ROLE nobody_yet LOGIN")
        connection.execute("GRANT USAGE ON SCHEMA public TO nobody_yet")
    try:
        address = make_url(postgres_store_url).set(username="nobody_yet")
        with pytest.raises(ReadOnlyStoreError, match="may not begin one"):
            open_store(address.render_as_string(hide_password=False))
    finally:
        with psycopg.connect(postgres_store_url, autocommit=True) as connection:
            connection.execute("DROP OWNED BY nobody_yet")
            connection.execute("DROP ROLE nobody_yet")
