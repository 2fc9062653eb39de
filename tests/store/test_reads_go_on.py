"""What a reading does when the server goes away under it."""

from __future__ import annotations

import gc
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import psycopg
import pytest
from sqlalchemy import Engine, event, select
from sqlalchemy.orm import Session

from fleetcal.errors import StoreError
from fleetcal.store import Store, find_airframe, open_store
from fleetcal.store.models import Airframe, CalibrationPoint
from tests.cli.command_line import Program
from tests.store.invented_rows import fill_every_table

# Of a lost connection the driver's cursors are left to be collected, which it warns of.
pytestmark = pytest.mark.filterwarnings("ignore:.*ServerCursor:ResourceWarning")


@pytest.fixture(autouse=True)
def _cursors_are_collected() -> Iterator[None]:
    yield
    gc.collect()


@pytest.fixture
def served(begun_store_url: str) -> Iterator[Store]:
    """A filled store on a server, whose patience ends soon."""
    with open_store(begun_store_url, patience_s=2.0) as store:
        fill_every_table(store)
        yield store


def end_connections(url: str) -> None:
    with psycopg.connect(url, autocommit=True) as connection:
        connection.execute(
            "SELECT pg_terminate_backend(pid) FROM pg_stat_activity"
            " WHERE datname = current_database() AND pid <> pg_backend_pid()"
        )


def _tags(session: Session) -> list[str]:
    return list(session.scalars(select(Airframe.tag).order_by(Airframe.tag)))


@pytest.mark.long
@pytest.mark.parametrize("answered", [0, 1, 2])
def test_a_reading_goes_on_where_its_connection_is_lost(
    answered: int, served: Store, begun_store_url: str
) -> None:
    with served.reading() as session:
        for _ in range(answered):
            assert _tags(session) == ["C-01", "C-02"]
        end_connections(begun_store_url)
        assert _tags(session) == ["C-01", "C-02"]
        end_connections(begun_store_url)
        assert _tags(session) == ["C-01", "C-02"]


@pytest.mark.long
def test_what_was_loaded_before_the_connection_was_lost_can_be_used_during_and_after(
    served: Store, begun_store_url: str
) -> None:
    with served.reading() as session:
        airframe = find_airframe(session, "C-01")
        point = session.get(CalibrationPoint, 1)
        kind = airframe.aircraft_type
        end_connections(begun_store_url)
        assert [fit.engine.name for fit in airframe.fits] == ["75 kW four", "100 kW turbo four"]
        assert find_airframe(session, "C-01") is airframe
        assert session.get(CalibrationPoint, 1) is point
    assert (airframe.tag, airframe.aircraft_type.name) == ("C-01", kind.name)
    assert point is not None
    assert point.kappa == -0.0125


@pytest.mark.long
def test_a_reading_does_not_mix_two_states(served: Store, begun_store_url: str) -> None:
    def read() -> None:
        with served.reading() as session:
            assert _tags(session) == ["C-01", "C-02"]
            end_connections(begun_store_url)
            _rename(served)
            _tags(session)

    with pytest.raises(StoreError, match="changed while it was being read") as caught:
        read()
    assert caught.value.hint == "run the command again"


@pytest.mark.long
def test_a_reading_that_was_answered_nothing_sees_what_is_there_now(
    served: Store, begun_store_url: str
) -> None:
    with served.reading() as session:
        end_connections(begun_store_url)
        _rename(served)
        assert _tags(session) == ["C-01", "C-99"]
        end_connections(begun_store_url)
        assert _tags(session) == ["C-01", "C-99"]


def _rename(store: Store) -> None:
    def work(session: Session) -> None:
        find_airframe(session, "C-02").tag = "C-99"

    store.write(work)


@pytest.mark.long
def test_rows_that_come_one_by_one_are_not_asked_for_twice(
    served: Store, begun_store_url: str
) -> None:
    query = select(CalibrationPoint.id).execution_options(yield_per=1)

    def read() -> None:
        with served.reading() as session:
            rows = iter(session.scalars(query))
            next(rows)
            end_connections(begun_store_url)
            list(rows)

    with pytest.raises(StoreError, match="cannot be reached"):
        read()


@pytest.mark.long
def test_a_server_that_stays_away_is_not_waited_for_for_ever(
    served: Store, begun_store_url: str
) -> None:
    def gone(*_: object) -> None:
        raise psycopg.OperationalError("connection refused")

    def read() -> None:
        with served.reading() as session:
            end_connections(begun_store_url)
            event.listen(served._engine, "do_connect", gone)
            _tags(session)

    with pytest.raises(StoreError, match="cannot be reached"):
        read()


@contextmanager
def lost_at(number: int, url: str) -> Iterator[Callable[[], bool]]:
    """Lose all connections before a statement of the block, and tell whether it came to that."""
    seen = 0

    def count(_c: object, _k: object, statement: str, *_: Any) -> None:
        nonlocal seen
        seen += 1
        if seen == number:
            end_connections(url)

    event.listen(Engine, "before_cursor_execute", count)
    try:
        yield lambda: seen >= number
    finally:
        event.remove(Engine, "before_cursor_execute", count)


@pytest.mark.long
@pytest.mark.parametrize("words", [("points", "list"), ("show", "history"), ("groups",)])
def test_a_command_answers_the_same_wherever_its_connection_is_lost(
    words: tuple[str, ...], served: Store, begun_store_url: str, tmp_path: Path
) -> None:
    program = Program(begun_store_url)
    undisturbed = program.output(*words)
    for number in range(1, 200):
        with lost_at(number, begun_store_url) as was_lost:
            assert program.output(*words) == undisturbed
        if not was_lost():
            break
    assert number > 3
