"""What the program sends to a server; every test beside this one is listened to for it."""

from __future__ import annotations

from typing import Any

import pytest
from sqlalchemy import Engine, event

from fleetcal.errors import BusyStoreError, StoreError
from fleetcal.store import Store, Touching, open_store
from fleetcal.store.again import again
from fleetcal.store.explained import explained
from fleetcal.store.messages import CollidedError
from fleetcal.store.writes import begun
from tests.store.standard_words import BEYOND, foreign_words, our_names
from tests.store.types_and_writers import fill_types, tag


@pytest.mark.parametrize(
    "statement",
    [
        "SELECT pg_advisory_xact_lock(1718383715, hashtext(current_schema()))",
        "INSERT INTO engine (name) VALUES (%(name)s) ON CONFLICT DO NOTHING",
        "SELECT name FROM engine WHERE name ILIKE %(name)s",
        "SELECT json_agg(name) FROM engine",
        "LISTEN fleetcal",
        "TRUNCATE engine",
    ],
)
def test_words_of_a_dialect_are_found(statement: str) -> None:
    assert foreign_words(statement, our_names())


def test_values_and_names_are_no_words_of_the_language() -> None:
    plain = "SELECT max(engine.id) AS last FROM engine WHERE name = 'ILIKE' AND id = %(ilike)s"
    assert foreign_words(plain, our_names()) == set()


def test_every_word_beyond_the_standard_has_its_reason_in_writing() -> None:
    assert [word for word, reason in BEYOND.items() if len(reason.split()) < 5] == []


def test_a_writer_locks_the_store_or_its_share_and_its_types_and_a_reader_nothing(
    postgres_store_url: str,
) -> None:
    sent: list[str] = []

    def listen(_connection: object, _cursor: object, statement: str, *_more: object) -> None:
        if any(word in statement for word in ("FOR UPDATE", "FOR SHARE", "LOCK TABLE", "lock(")):
            sent.append(statement)

    with open_store(postgres_store_url) as store:
        fill_types(store, 2)
        event.listen(Engine, "before_cursor_execute", listen)
        try:
            with store.reading():
                pass
            assert sent == []
            with store.writing():
                pass
            whole = [sent.pop(0) for _ in range(2)]
            store.write(lambda session: None, Touching(airframes=(tag(2), tag(1))))
        finally:
            event.remove(Engine, "before_cursor_execute", listen)
    assert whole == [
        "LOCK TABLE fleetcal_revision IN EXCLUSIVE MODE",
        "SELECT version_num FROM fleetcal_revision FOR UPDATE",
    ]
    assert sent[0] == "SELECT version_num FROM fleetcal_revision FOR SHARE"
    assert " ".join(sent[1].split()).endswith(
        "ORDER BY aircraft_type.id FOR UPDATE OF aircraft_type"
    )
    assert len(sent) == 2


def test_a_store_without_its_row_is_not_written_without_a_lock(postgres_store_url: str) -> None:
    with open_store(postgres_store_url) as store:
        with store.writing() as session:
            session.connection().exec_driver_sql("DELETE FROM fleetcal_revision")
        with pytest.raises(StoreError, match="lost its revision"), store.writing():
            pass


def test_what_collided_is_done_again_and_at_last_explained() -> None:
    done: list[int] = []

    def collide(times: int) -> str:
        done.append(1)
        if len(done) <= times:
            raise CollidedError("another program changed it", "run the command again")
        return "done"

    assert again(lambda: collide(2), label="it", longest_s=1.0) == "done"
    assert len(done) == 3
    done.clear()
    with pytest.raises(BusyStoreError):
        again(lambda: collide(99), label="it", longest_s=0.3)
    assert 2 < len(done) < 9


def _collide(store: Store, strict: Engine) -> None:
    """Write in the isolation level in which the second of two writers is refused."""
    touching = "UPDATE fleetcal_revision SET version_num = version_num"
    session, transaction = begun(strict)
    with explained(store.label), session, transaction:
        session.connection().exec_driver_sql("SELECT version_num FROM fleetcal_revision")
        with store.writing() as other:
            other.connection().exec_driver_sql(touching)
        session.connection().exec_driver_sql(touching)


def test_a_server_that_gives_a_writer_up_is_explained_and_nothing_is_kept(
    postgres_store_url: str,
) -> None:
    with open_store(postgres_store_url) as store:
        strict = store._engine.execution_options(isolation_level="SERIALIZABLE")
        with pytest.raises(CollidedError, match="same moment; nothing was stored") as caught:
            _collide(store, strict)
    assert (caught.value.exit_code, caught.value.hint) == (44, "run the command again")


def test_a_transaction_that_is_given_up_while_it_begins_is_begun_again(
    postgres_store_url: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("fleetcal.store.again.nap", lambda _: None)
    refusals = ["40001", "40P01"]

    def refuse(_connection: object, _cursor: object, statement: str, *more: Any) -> Any:
        if "FOR UPDATE" in statement and refusals:
            code = refusals.pop()
            statement = f"DO $$ BEGIN RAISE EXCEPTION 'given up' USING ERRCODE = '{code}'; END $$"
        return statement, more[0]

    with open_store(postgres_store_url) as store:
        event.listen(store._engine, "before_cursor_execute", refuse, retval=True)
        with store.writing() as session:
            assert session.in_transaction()
    assert refusals == []
