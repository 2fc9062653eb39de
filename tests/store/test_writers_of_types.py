"""On a server writers of different types write at once, and lose nothing by it."""

from __future__ import annotations

import random
import threading
from functools import partial
from pathlib import Path

import psycopg
import pytest
from sqlalchemy import Connection, func, select
from sqlalchemy.orm import Session

from fleetcal.store import (
    Store,
    Touching,
    airframes_changed_since,
    history_recording,
    open_store,
    state_mark,
)
from fleetcal.store.history_chain import add_link
from fleetcal.store.integrity import broken_parts
from fleetcal.store.models import Airframe, HistoryLink, Sortie, StoreChange
from fleetcal.store.undoing import undo_change
from tests.store.types_and_writers import Writer, fill_types, fly, held, started, tag, type_name

A, B = (Touching(airframes=(tag(number),)) for number in (1, 2))
WHOLE = None


@pytest.fixture
def url(begun_store_url: str) -> str:
    """Address of a store with four types."""
    with open_store(begun_store_url) as store:
        fill_types(store, 4)
    return begun_store_url


def file(number: int) -> str:
    return f"{number:064x}"


@pytest.mark.long
def test_a_writer_holds_up_its_own_type_and_the_whole_store_and_no_other_type(url: str) -> None:
    with held(url, partial(fly, number=1, file=file(1)), A):
        assert started(url, partial(fly, number=2, file=file(2)), B).is_done()
        same = started(url, partial(fly, number=1, file=file(3)), Touching(types=(type_name(1),)))
        whole = started(url, partial(fly, number=3, file=file(4)), WHOLE)
        assert same.waits()
        assert whole.waits()
    assert same.is_done()
    assert whole.is_done()
    with open_store(url) as store:
        assert _flights(store) == 4
        assert _broken(store) == []


def test_whoever_has_the_whole_store_holds_up_every_writer_and_no_reader(url: str) -> None:
    with held(url, partial(fly, number=1, file=file(1)), WHOLE):
        waiting = [started(url, partial(fly, number=n, file=file(n)), B) for n in (2,)]
        waiting.append(started(url, partial(fly, number=3, file=file(3)), WHOLE))
        assert all(writer.waits() for writer in waiting)
        with open_store(url) as store:
            assert _flights(store) == 0
    assert all(writer.is_done() for writer in waiting)


def test_who_waits_for_the_whole_store_is_not_overtaken(url: str) -> None:
    with held(url, partial(fly, number=1, file=file(1)), A):
        whole = started(url, partial(fly, number=3, file=file(3)), WHOLE)
        assert whole.waits()
        late = started(url, partial(fly, number=2, file=file(2)), B)
        assert late.waits()
    assert whole.is_done()
    assert late.is_done()


def test_an_older_program_that_locks_the_row_keeps_everybody_out(url: str) -> None:
    with psycopg.connect(url) as older:
        older.execute("SELECT version_num FROM fleetcal_revision FOR UPDATE")
        sharing = started(url, partial(fly, number=2, file=file(2)), B)
        whole = started(url, partial(fly, number=3, file=file(3)), WHOLE)
        assert sharing.waits()
        assert whole.waits()
    assert sharing.is_done()
    assert whole.is_done()


@pytest.mark.long
@pytest.mark.parametrize(
    "touching",
    [B, Touching(airframes=("nobody",)), Touching(), Touching(points=range(1, 2000))],
    ids=["another type", "no such airframe", "nothing", "too much"],
)
def test_who_says_too_little_gets_the_whole_store_and_loses_nothing(
    touching: Touching, url: str
) -> None:
    writer = started(url, partial(fly, number=1, file=file(1)), touching)
    assert writer.is_done()
    assert writer.tries == (2 if touching is B else 1)
    with held(url, partial(fly, number=3, file=file(3)), Touching(types=(type_name(3),))):
        second = started(url, partial(fly, number=1, file=file(2)), touching)
        second.join(1.0)
        assert second.is_alive()  # it waits for all who share
    assert second.is_done()
    with open_store(url) as store:
        assert _flights(store) == 3
        assert _broken(store) == []


def _change_a_type(session: Session) -> None:
    airframe = session.scalars(select(Airframe).where(Airframe.tag == tag(1))).one()
    airframe.note = "described anew"


def test_what_airframes_are_is_changed_with_the_whole_store_whatever_was_said(url: str) -> None:
    writer = started(url, _change_a_type, A)
    assert writer.is_done()
    assert writer.tries == 2


def test_one_file_for_two_types_is_seen_by_the_second(url: str) -> None:
    with held(url, partial(fly, number=1, file=file(1)), A) as first:
        second = started(url, partial(fly, number=2, file=file(1)), B)
        second.join(0.5)
        assert second.is_alive()
    assert second.is_done()
    assert (first.result, second.result) == (0, 1)
    with open_store(url) as store:
        assert _flights(store) == 1


def _broken(store: Store) -> list[tuple[str, str]]:
    """Return what `store check` finds in tables, hashes and history."""
    with store.reading() as session:
        return list(broken_parts(session))


def _flights(store: Store) -> int:
    with store.reading() as session:
        return session.scalar(select(func.count(Sortie.id))) or 0


@pytest.mark.long
def test_writers_of_one_and_two_types_lose_nothing_and_never_wait_in_a_circle(url: str) -> None:
    rounds, writers = 12, []
    for number in range(8):
        writers.append(_Busy(url, number, rounds))
        writers[-1].start()
    for writer in writers:
        writer.join(120.0)
    assert [writer.error for writer in writers] == [None] * 8
    assert [writer.tries for writer in writers] == [rounds] * 8
    with open_store(url) as store:
        assert _flights(store) == sum(writer.flights for writer in writers)
        assert _broken(store) == []
        with store.reading() as session:
            links = session.scalars(select(HistoryLink.id).order_by(HistoryLink.id)).all()
            assert list(links) == list(range(1, 8 * rounds + 2))
            assert session.scalar(select(func.count(StoreChange.id))) == len(links)
    with psycopg.connect(url) as connection:
        query = "SELECT deadlocks FROM pg_stat_database WHERE datname = current_database()"
        assert connection.execute(query).fetchone() == (0,)


class _Busy(Writer):
    """Writes again and again, to one type or two, which it names in any order."""

    def __init__(self, url: str, number: int, rounds: int) -> None:
        super().__init__(url, lambda session: None)
        self._random, self._rounds, self._number = random.Random(number), rounds, number
        self.flights = 0

    def run(self) -> None:
        try:
            with open_store(self._url, create=False) as store:
                for count in range(self._rounds):
                    self._once(store, 100 * self._number + 10_000 * count)
        except BaseException as error:
            self.error = error

    def _once(self, store: Store, first: int) -> None:
        chosen = self._random.sample(range(1, 5), self._random.choice((1, 1, 2)))

        def work(session: Session) -> None:
            self.tries += 1
            for number in chosen:
                fly(session, number, file(first + number))

        store.write(work, Touching(airframes=[tag(number) for number in chosen]))
        self.flights += len(chosen)


@pytest.mark.long
def test_a_change_of_one_type_is_taken_back_after_a_later_one_of_another(url: str) -> None:
    started(url, partial(fly, number=1, file=file(1)), A).is_done()
    with open_store(url) as store:
        with store.reading() as session:
            change = session.scalar(select(func.max(StoreChange.id)))
        with held(url, partial(fly, number=2, file=file(2)), B):
            waiting = started(url, lambda session: undo_change(session, change), WHOLE)
            assert waiting.waits()
        assert waiting.is_done()
        assert _flights(store) == 1
        assert _broken(store) == []


def test_a_file_is_written_by_one_whatever_is_said(begun_file: Path, tmp_path: Path) -> None:
    place = tmp_path / "store.sqlite3"
    place.write_bytes(begun_file.read_bytes())
    with open_store(place) as store:
        fill_types(store, 2)
        assert not store.is_shared
        release = threading.Event()
        first = Writer(str(place), partial(fly, number=1, file=file(1)), A, release)
        first.start()
        assert first.in_it.wait(10.0)
        second = started(str(place), partial(fly, number=2, file=file(2)), B)
        assert second.waits()
        release.set()
        assert first.is_done()
        assert second.is_done()


def test_what_changed_since_is_told_by_the_order_in_which_changes_were_kept(
    url: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The first writer numbers its change, and is kept after the second."""
    numbered, go_on = threading.Event(), threading.Event()

    def late(connection: Connection, change: int, content: str) -> int:
        if threading.current_thread() is first:
            numbered.set()
            assert go_on.wait(20.0)
        return add_link(connection, change, content)

    monkeypatch.setattr(history_recording, "add_link", late)
    first = started(url, partial(fly, number=1, file=file(1)), A)
    assert numbered.wait(20.0)
    assert started(url, partial(fly, number=2, file=file(2)), B).is_done()
    with open_store(url) as store:
        with store.reading() as session:
            mark = state_mark(session)
            newest = session.scalar(select(func.max(StoreChange.id)))
        go_on.set()
        assert first.is_done()
        with store.reading() as session:
            assert mark is not None
            assert session.scalar(select(func.max(StoreChange.id))) == newest
            assert airframes_changed_since(session, mark) == frozenset({tag(1)})
            assert state_mark(session) != mark
