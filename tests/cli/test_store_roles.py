"""A club's store: what a member and an officer may, with real logins on a real server."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import click
import psycopg
import pytest
from sqlalchemy import Engine
from sqlalchemy.engine import make_url

from fleetcal.cli import main
from fleetcal.store import writes
from fleetcal.store.history_guard import KEPT
from tests.cli.club import (
    PASSWORDS,
    READING,
    UNANSWERED,
    WRITING,
    Club,
    asking_for_passwords,
    begin_store,
    write_files,
)
from tests.cli.command_line import Program, assert_explained
from tests.store_places import held

pytestmark = pytest.mark.any_store("has a server of its own")

ROLES = ("store", "roles", "--read", "members", "--write", "officers")


@pytest.fixture(scope="module")
def club(postgres_url: str, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Club]:
    """A database of the keeper's in which anna is a member and otto an officer."""
    folder = tmp_path_factory.mktemp("club")
    write_files(folder)
    address = make_url(postgres_url).set(database="club").render_as_string(hide_password=False)
    club = Club(address, folder)
    with (
        psycopg.connect(postgres_url, autocommit=True) as server,
        asking_for_passwords(postgres_url),
    ):
        server.execute(f"CREATE ROLE keeper LOGIN CREATEROLE PASSWORD '{PASSWORDS['keeper']}'")
        server.execute("CREATE DATABASE club OWNER keeper")
        keeper = club.program("keeper")
        begin_store(keeper, folder)
        with psycopg.connect(keeper.store, autocommit=True) as own:
            own.execute(keeper.output(*ROLES).encode())
        for user, role in (("anna", "members"), ("otto", "officers")):
            server.execute(f"CREATE ROLE {user} LOGIN PASSWORD '{PASSWORDS[user]}' IN ROLE {role}")
        yield club
        server.execute("DROP DATABASE club WITH (FORCE)")
        server.execute("DROP ROLE anna, otto, members, officers, keeper")


@pytest.fixture
def desk(club: Club, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder of one's own with the club's files, where commands are run."""
    folder = tmp_path / "desk"
    shutil.copytree(club.folder, folder)
    monkeypatch.chdir(folder)
    return folder


def leaves(command: click.Command = main, path: tuple[str, ...] = ()) -> Iterator[tuple[str, ...]]:
    if isinstance(command, click.Group):
        for name, inner in command.commands.items():
            yield from leaves(inner, (*path, name))
    else:
        yield path


def test_every_command_is_known_to_read_or_to_write() -> None:
    known = {words[: len(path)] for words in (*READING, *WRITING) for path in leaves()}
    known.add(("preferences",))  # it opens no store: --store is what it keeps
    known.add(("owners", "name"))  # it opens none either: the key is in a file of its own
    known.add(("serve",))  # each of its pages does what one of the others does
    assert [path for path in leaves() if path not in known] == []


@pytest.mark.long
@pytest.mark.parametrize("words", READING, ids=" ".join)
def test_a_member_reads_what_the_keeper_reads(
    words: tuple[str, ...], club: Club, desk: Path
) -> None:
    if words[0] == "merge":
        shutil.copy("others.json", "shared.json")
    told = club.program("anna").run(*words)
    answered = words not in UNANSWERED
    assert (told.exit_code == 0) == answered, told.stderr
    for made in ("shared.json", "copy.sqlite3", "all.csv", "saved.csv"):
        if made in words and words[0] != "merge":
            Path(made).unlink()
    keepers = club.program("keeper").run(*words)
    assert keepers.exit_code == told.exit_code
    assert keepers.stdout.replace("//keeper@", "//anna@") == told.stdout


@pytest.mark.parametrize("words", WRITING, ids=" ".join)
def test_a_member_is_refused_whatever_writes_and_told_whom_to_ask(
    words: tuple[str, ...], club: Club, desk: Path
) -> None:
    before = held(club.place("postgres"))
    result = club.program("anna").run(*words)
    assert_explained(result, 41, "anna@", "may read the store but not write it")
    assert "ask the owner of the database" in result.stderr.splitlines()[1]
    assert held(club.place("postgres")) == before


# What changes more than the flights, checks and issues of a type, beginning of its words.
WHOLE_STORE = (
    *(("fleet",), ("handbook",), ("owners",), ("merge",), ("undo",)),
    ("logs", "drop"),
)


@pytest.mark.long
def test_an_officer_may_do_whatever_writes_and_holds_up_other_types_where_he_must_alone(
    club: Club, desk: Path
) -> None:
    before = held(club.place("postgres"), KEPT)
    *others, restoring = WRITING
    begun: list[bool] = []
    begin = writes.begun_writing

    def listened(engine: Engine, *, sharing: bool = False) -> Any:
        begun.append(sharing)
        return begin(engine, sharing=sharing)

    for words in others:
        begun.clear()
        with pytest.MonkeyPatch.context() as patched:
            patched.setattr(writes, "begun_writing", listened)
            result = club.program("otto").run(*words)
        assert result.exit_code == 0, (words, result.stderr)
        needs_all = any(words[: len(acts)] == acts for acts in WHOLE_STORE)
        assert set(begun) == {not needs_all}, (words, begun)
    # It would replace the history, to which an officer may only add.
    assert_explained(club.program("otto").run(*restoring), 41, "a backup replaces the history")
    assert held(club.place("postgres"), KEPT) != before
    club.program("keeper").output(*restoring)
    # the club's own backup is back; then the counters go on
    assert held(club.place("postgres"), KEPT) == before
    club.program("otto").output("points", "import", "more.csv")
    club.program("otto").output("undo")


def test_nobody_but_the_keeper_makes_or_changes_tables(club: Club) -> None:
    for user in ("anna", "otto"):
        with (
            psycopg.connect(club.place(user, PASSWORDS[user])) as connection,
            pytest.raises(psycopg.errors.InsufficientPrivilege),
        ):
            connection.execute("CREATE TABLE notes (id int)")
        with (
            psycopg.connect(club.place(user, PASSWORDS[user])) as connection,
            pytest.raises(psycopg.errors.InsufficientPrivilege),
        ):
            connection.execute("ALTER TABLE airframe ADD COLUMN colour text")


def test_a_login_without_any_right_is_told_so(club: Club, desk: Path) -> None:
    with psycopg.connect(club.place("postgres"), autocommit=True) as server:
        server.execute("CREATE ROLE stranger LOGIN")
    try:
        result = Program(club.place("stranger")).run("groups")
        assert_explained(result, 4, "stranger@")
        with psycopg.connect(club.place("postgres"), autocommit=True) as server:
            server.execute("GRANT USAGE ON SCHEMA public TO stranger")
        result = Program(club.place("stranger")).run("groups")
        assert_explained(result, 4, "stranger@", "may not even read")
    finally:
        with psycopg.connect(club.place("postgres"), autocommit=True) as server:
            server.execute("DROP OWNED BY stranger")
            server.execute("DROP ROLE stranger")


def test_the_password_comes_from_the_environment_or_the_password_file(
    club: Club, desk: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    program = Program(club.place("anna"))
    monkeypatch.setenv("PGPASSFILE", str(desk / "no such file"))
    assert_explained(program.run("points", "list"), 4, "cannot be reached")
    monkeypatch.setenv("PGPASSWORD", PASSWORDS["anna"])
    wanted = program.output("points", "list")
    monkeypatch.delenv("PGPASSWORD")
    kept = desk / "passwords"
    kept.write_text(f"*:*:club:anna:{PASSWORDS['anna']}\n")
    kept.chmod(0o600)
    monkeypatch.setenv("PGPASSFILE", str(kept))
    assert program.output("points", "list") == wanted


@pytest.mark.long
def test_no_password_is_ever_printed_or_stored(
    club: Club, desk: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    said = []
    wrong = club.place("anna", "Wr-0000-word")
    missing = wrong.replace("/club?", "/nothing?")
    for place in (wrong, missing, f"{wrong}&sslmode=no-such-mode", f"{wrong}&nonsense=1"):
        for words in (("groups",), ("store", "check"), ("store", "backup", "--out", "b.sqlite3")):
            result = Program(place).run(*words)
            assert result.exit_code in range(4, 45), result.output
            said.append(result.output)
    monkeypatch.setenv("FLEETCAL_STORE", club.place("otto", PASSWORDS["otto"]))
    otto = club.program("otto")
    said += [otto.run(*words).output for words in (("--help",), ("groups", "--no-such"), ROLES)]
    said.append(otto.run("points", "reject", "1", "--reason", "leak").output)
    said.append(otto.run("show", "history", "--format", "json").output)
    otto.output("undo")
    said.append(otto.run("store", "check").output)
    kept = held(club.place("postgres")).decode()
    made = "".join(
        path.read_bytes().decode("latin-1") for path in desk.rglob("*") if path.is_file()
    )
    for password in ("Wr-0000-word", *PASSWORDS.values()):
        assert password not in "".join(said)
        assert password not in kept
        assert password not in made


@pytest.mark.parametrize(
    ("words", "named"),
    [
        (("store", "roles"), "no role"),
        (("store", "roles", "--read", "a", "--write", "a"), "twice"),
        (("store", "roles", "--read", " "), "cannot be a name"),
        (("store", "roles", "--read", "x" * 64), "cannot be a name"),
        (("store", "roles", "--read", "a\nb"), "cannot be a name"),
    ],
)
def test_what_cannot_be_a_role_is_refused(
    words: tuple[str, ...], named: str, tmp_path: Path
) -> None:
    assert_explained(Program(str(tmp_path / "x.sqlite3")).run(*words), 3, named)


def test_names_are_quoted_so_that_none_becomes_a_statement(tmp_path: Path) -> None:
    program = Program("postgresql://host/club")
    said = program.output("store", "roles", "--read", 'x"; DROP TABLE leg; --', "--existing")
    assert 'TO "x""; DROP TABLE leg; --";' in said
    assert "CREATE ROLE" not in said
