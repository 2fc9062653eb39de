from __future__ import annotations

import os
import sys
import traceback
import warnings
from collections.abc import Callable
from pathlib import Path

import psycopg
import pytest
from sqlalchemy.engine import make_url

from fleetcal.errors import FleetcalError, ReadOnlyStoreError
from fleetcal.store import load_description, open_store
from tests.store.invented_rows import fill_every_table, fly, row_counts
from tests.store.upgrade_step import REBUILDING

NOBODY = 65534


def as_ordinary_user(action: Callable[[], str]) -> str:
    """Run an action in a child process that file permissions bind, and return what it says.

    The super-user is bound by none, so a child of his first gives up his rights.
    An error of ours is returned as its class and message.
    """
    reading, writing = os.pipe()
    with warnings.catch_warnings():
        # Libraries for number work hold threads of their own; none of them is at work here.
        warnings.filterwarnings("ignore", message=".*multi-threaded.*")
        child = os.fork()
    if child == 0:
        try:
            if os.geteuid() == 0:
                os.setgroups([])
                os.setgid(NOBODY)
                os.setuid(NOBODY)
            try:
                said = action()
            except FleetcalError as error:
                said = f"{type(error).__name__}: {error.message}"
            os.write(writing, said.encode())
        except BaseException:
            traceback.print_exc(file=sys.stderr)
            os._exit(1)
        os._exit(0)
    os.close(writing)
    with os.fdopen(reading) as pipe:
        said = pipe.read()
    assert os.waitpid(child, 0)[1] == 0, "the child process failed"
    return said


@pytest.fixture
def shared_file(shared_folder: Path) -> Path:
    path = shared_folder / "store.sqlite3"
    with open_store(path) as store:
        fill_every_table(store)
    return path


def read(path: Path) -> str:
    with open_store(path, create=False) as store, store.reading() as session:
        return f"{len(load_description(session).airframes)} {row_counts(session)['leg']}"


def write(path: Path) -> str:
    with open_store(path) as store, store.writing() as session:
        fly(session)
    return "written"


@pytest.mark.parametrize(
    ("file_mode", "folder_mode"),
    [(0o444, 0o555), (0o444, 0o777), (0o666, 0o555)],
    ids=["both", "file", "folder"],
)
def test_a_read_only_store_is_read_but_not_written(
    shared_file: Path, file_mode: int, folder_mode: int
) -> None:
    shared_file.chmod(file_mode)
    shared_file.parent.chmod(folder_mode)
    before = shared_file.read_bytes()
    assert as_ordinary_user(lambda: read(shared_file)) == "2 8"
    said = as_ordinary_user(lambda: write(shared_file))
    assert said == f"ReadOnlyStoreError: {shared_file} cannot be written"
    assert shared_file.read_bytes() == before
    assert list(shared_file.parent.iterdir()) == [shared_file]


def test_the_same_store_is_written_when_it_may_be(shared_file: Path) -> None:
    shared_file.chmod(0o666)
    shared_file.parent.chmod(0o777)
    assert as_ordinary_user(lambda: write(shared_file)) == "written"


def test_no_store_is_begun_in_a_read_only_folder(shared_folder: Path) -> None:
    shared_folder.chmod(0o555)
    path = shared_folder / "new.sqlite3"
    said = as_ordinary_user(lambda: write(path))
    assert said == f"ReadOnlyStoreError: {path} cannot be written"
    assert list(shared_folder.iterdir()) == []


@pytest.mark.parametrize(
    ("file_mode", "folder_mode"), [(0o444, 0o777), (0o666, 0o555)], ids=["file", "folder"]
)
def test_an_older_store_that_is_read_only_is_left_alone(
    shared_file: Path, next_step: Callable[[str], None], file_mode: int, folder_mode: int
) -> None:
    shared_file.chmod(file_mode)
    shared_file.parent.chmod(folder_mode)
    before = shared_file.read_bytes()
    next_step(REBUILDING)
    said = as_ordinary_user(lambda: read(shared_file))
    assert said == f"ReadOnlyStoreError: {shared_file} cannot be written"
    assert shared_file.read_bytes() == before
    assert list(shared_file.parent.iterdir()) == [shared_file]


@pytest.mark.long
def test_a_server_user_without_rights_reads_but_does_not_write(postgres_store_url: str) -> None:
    with open_store(postgres_store_url) as store:
        fill_every_table(store)
    role = "guest"
    with psycopg.connect(postgres_store_url, autocommit=True) as connection:
        connection.execute(f"CREATE ROLE {role} LOGIN")
        connection.execute(f"GRANT USAGE ON SCHEMA public TO {role}")
        connection.execute(f"GRANT SELECT ON ALL TABLES IN SCHEMA public TO {role}")
    try:
        guest = make_url(postgres_store_url).set(username=role)
        with open_store(guest.render_as_string(hide_password=False)) as store:
            with store.reading() as session:
                assert row_counts(session)["leg"] == 8
            with pytest.raises(ReadOnlyStoreError, match="not write it"), store.writing() as writer:
                fly(writer)
    finally:
        with psycopg.connect(postgres_store_url, autocommit=True) as connection:
            connection.execute(f"DROP OWNED BY {role}")
            connection.execute(f"DROP ROLE {role}")
