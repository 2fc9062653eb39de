"""What a command does when the server goes away under it."""

from __future__ import annotations

import random
from collections.abc import Iterator
from typing import Any

import psycopg
import pytest
from sqlalchemy import event, select
from sqlalchemy.orm import Session

from fleetcal.errors import StoreError
from fleetcal.store import TELL, Store, open_store
from fleetcal.store.again import again
from fleetcal.store.explained import explained
from fleetcal.store.models import Airframe, StoreChange
from tests.store.invented_rows import fill_every_table


@pytest.fixture
def served(postgres_store_url: str) -> Iterator[Store]:
    """A filled store on a server, whose patience ends soon."""
    with open_store(postgres_store_url, patience_s=2.0) as store:
        fill_every_table(store)
        yield store


def _rename(session: Session) -> int:
    first = session.scalars(select(Airframe).order_by(Airframe.id)).first()
    assert first is not None
    first.note = f"{first.note}+"
    return first.id


def _notes(store: Store) -> tuple[str, int]:
    with store.reading() as session:
        first = session.scalars(select(Airframe).order_by(Airframe.id)).first()
        assert first is not None
        return first.note, len(session.scalars(select(StoreChange.id)).all())


def _end_connections(url: str) -> None:
    with psycopg.connect(url, autocommit=True) as connection:
        connection.execute(
            "SELECT pg_terminate_backend(pid) FROM pg_stat_activity"
            " WHERE datname = current_database() AND pid <> pg_backend_pid()"
        )


@pytest.mark.long
def test_a_connection_that_is_lost_before_the_change_is_kept_loses_nothing(
    served: Store, postgres_store_url: str
) -> None:
    before, changes = _notes(served)
    tries: list[int] = []

    def work(session: Session) -> int:
        done = _rename(session)
        tries.append(done)
        if len(tries) < 3:
            session.flush()
            _end_connections(postgres_store_url)
        return done

    assert served.write(work) == tries[0]
    assert len(tries) == 3
    assert _notes(served) == (f"{before}+", changes + 1)


@pytest.mark.parametrize("kept", [True, False])
def test_a_connection_that_is_lost_while_the_change_is_being_kept_writes_it_once(
    kept: bool, served: Store, postgres_store_url: str
) -> None:
    before, changes = _notes(served)
    tries: list[int] = []
    with LosingCommits(served, 1, kept=kept, url=postgres_store_url):
        served.write(lambda session: tries.append(_rename(session)))
    assert len(tries) == (1 if kept else 2)
    assert _notes(served) == (f"{before}+", changes + 1)


class LosingCommits:
    """Lose the connection of so many writing transactions as they are kept, before or after."""

    def __init__(self, store: Store, times: int, *, kept: bool, url: str) -> None:
        self._dialect: Any = store._engine.dialect
        self._left, self._kept, self._url = times, kept, url

    def __enter__(self) -> None:
        keep = type(self._dialect).do_commit

        def do_commit(connection: Any) -> None:
            if self._left:
                self._left -= 1
                if self._kept:
                    keep(self._dialect, connection)
                _end_connections(self._url)
                connection.execute("SELECT 1")  # finds out that the connection is lost
            keep(self._dialect, connection)

        self._dialect.do_commit = do_commit

    def __exit__(self, *_: object) -> None:
        del self._dialect.do_commit


def test_what_became_of_a_change_that_nobody_can_say_is_said_so(
    served: Store, postgres_store_url: str
) -> None:
    before = _notes(served)
    with LosingCommits(served, 1, kept=True, url=postgres_store_url):

        def gone(*_: object) -> None:
            raise psycopg.OperationalError("connection refused")

        def work(session: Session) -> None:
            _rename(session)
            event.listen(served._engine, "do_connect", gone)

        with pytest.raises(StoreError, match="could not be found out") as caught:
            served.write(work)
    assert "show history" in caught.value.hint
    event.remove(served._engine, "do_connect", gone)
    assert _notes(served) == (f"{before[0]}+", before[1] + 1)


def test_a_server_that_starts_is_waited_for_with_one_notice(
    postgres_store_url: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    open_store(postgres_store_url).close()
    told: list[str] = []
    before = TELL.set(told.append)
    refusals = ["FATAL:  the database system is starting up"] * 6
    connect = psycopg.connect

    def starting(*words: Any, **named: Any) -> Any:
        if refusals:
            raise psycopg.OperationalError(refusals.pop())
        return connect(*words, **named)

    monkeypatch.setattr(psycopg, "connect", starting)
    monkeypatch.setattr(random, "uniform", lambda low, high: high)  # 1.55 s in all, not 0.8
    try:
        open_store(postgres_store_url, create=False).close()
    finally:
        TELL.reset(before)
    assert refusals == []
    assert len(told) == 1
    assert "does not answer" in told[0]


def test_an_address_where_no_server_is_is_refused_at_once() -> None:
    with pytest.raises(StoreError, match="cannot be reached"):
        open_store("postgresql://me@127.0.0.1:1/club")


def test_an_error_that_comes_from_the_driver_itself_is_waited_for_and_explained_too() -> None:
    tries: list[int] = []

    def work() -> str:
        tries.append(1)
        if len(tries) < 3:
            raise psycopg.OperationalError("server closed the connection unexpectedly")
        return "done"

    assert again(work, label="it", longest_s=5.0) == "done"
    with pytest.raises(StoreError, match="it cannot be reached"), explained("it"):
        raise psycopg.OperationalError("server closed the connection unexpectedly")
    with pytest.raises(ZeroDivisionError), explained("it"):
        again(lambda: 1 // 0, label="it")
