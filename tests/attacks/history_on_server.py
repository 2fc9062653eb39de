"""Attacks on the history of a store on a server, by an officer's login and by the owner's."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import psycopg
from sqlalchemy.engine import make_url

from fleetcal.store.copies import bring_back
from fleetcal.store.history_guard import KEPT
from fleetcal.store.roles import roles_sql
from tests.attacks.history_on_file import COPIED_FILE, REJECT
from tests.postgres_server import database_url, drop_database
from tests.store.faults.judging import faults_of

DATABASE, OWNER, OFFICER, OFFICERS = "attacked", "attacked_owner", "attacked_otto", "attacked_write"


@dataclass(frozen=True)
class Attacked:
    """A club's store on a server.

    Attributes:
        owner, officer: Its address as each writes it.
    """

    owner: str
    officer: str


@contextmanager
def club_on(server: str, begun: Path) -> Iterator[Attacked]:
    """Bring a store file onto a server, where an owner keeps it and an officer may write."""
    with psycopg.connect(server, autocommit=True) as connection:
        for role in (OWNER, OFFICER):
            connection.execute(f"CREATE ROLE {role} LOGIN")
        connection.execute(f"CREATE DATABASE {DATABASE} OWNER {OWNER}")
        connection.execute(f"CREATE ROLE {OFFICERS} ROLE {OFFICER}")
        url = make_url(database_url(server, DATABASE))
        owner, officer = (
            url.set(username=name).render_as_string(hide_password=False)
            for name in (OWNER, OFFICER)
        )
        try:
            bring_back(owner, begun)
            rights = roles_sql(owner, (), (OFFICERS,), make=False)
            with psycopg.connect(owner, autocommit=True) as own:
                own.execute("GRANT ALL ON SCHEMA public TO CURRENT_USER")
                own.execute(rights.encode())
            yield Attacked(owner, officer)
        finally:
            drop_database(server, DATABASE)
            connection.execute(f"DROP ROLE {OFFICERS}, {OFFICER}, {OWNER}")


def _refused(*statements: str) -> Callable[[Attacked], bool]:
    """Return an officer's attack of which the server must refuse every statement."""

    def attack(club: Attacked) -> bool:
        refused = 0
        for statement in statements:
            with psycopg.connect(club.officer, autocommit=True) as connection:
                try:
                    connection.execute(statement.encode())
                except psycopg.errors.InsufficientPrivilege:
                    refused += 1
        return refused == len(statements)

    return attack


def _found(statement: str, named: str) -> Callable[[Attacked], bool]:
    """Return an officer's attack that the check must find, and name."""

    def attack(club: Attacked) -> bool:
        with psycopg.connect(club.officer, autocommit=True) as connection:
            connection.execute(statement.encode())
        return any(named in fault for fault in faults_of(club.owner))

    return attack


def _owner_found(*statements: str, named: str) -> Callable[[Attacked], bool]:
    """Return an attack by the owner, with the triggers off, that the check must find."""

    def attack(club: Attacked) -> bool:
        with psycopg.connect(club.owner) as connection:
            for table in KEPT:
                connection.execute(f"ALTER TABLE {table} DISABLE TRIGGER USER")
            for statement in statements:
                connection.execute(statement.encode())
            for table in KEPT:
                connection.execute(f"ALTER TABLE {table} ENABLE TRIGGER USER")
        return any(named in fault for fault in faults_of(club.owner))

    return attack


_AS_KEEPER = (
    "INSERT INTO store_change (made_at, made_by, act, undone, name_from)"
    " VALUES ('2024-01-01', 'attacked_owner', 'points reject', '', 'server') RETURNING id"
)


def _claims_to_be_the_owner(club: Attacked) -> bool:
    """Tell whether the server wrote another name and moment than those that were claimed."""
    with psycopg.connect(club.officer, autocommit=True) as connection:
        number = connection.execute(_AS_KEEPER).fetchone()
        row = connection.execute(
            "SELECT made_by, name_from, made_at > now() - interval '1 hour' FROM store_change"
            " WHERE id = %s",
            number,
        ).fetchone()
    return row == (OFFICER, "server", True)


def _links_as_it_likes(club: Attacked) -> bool:
    """Tell whether a link with a content and a hash of its own is found."""
    with psycopg.connect(club.officer, autocommit=True) as connection:
        number = connection.execute(_AS_KEEPER).fetchone()
        assert number is not None
        connection.execute(
            "INSERT INTO history_link (id, store_change_id, note, content, hash)"
            " VALUES (1000000, %s, '', 'made up', 'made up')",
            number,
        )
    faults = faults_of(club.owner)
    return any(f"change {number[0]} " in fault and "altered" in fault for fault in faults)


_LAST = "(SELECT max(id) FROM store_change)"
_CLEARED = tuple(f"DELETE FROM {table}" for table in ("row_state", "history_link", *KEPT[1::-1]))

SERVER_ATTACKS: dict[str, Callable[[Attacked], bool]] = {
    "an officer deletes the history": _refused(*_CLEARED),
    "an officer rewrites the history": _refused(
        "UPDATE store_change SET made_by = 'attacked_owner'",
        "UPDATE changed_row SET airframe = 'C-99'",
        "UPDATE row_state SET digest = ''",
        "UPDATE history_link SET hash = ''",
    ),
    "an officer turns the triggers off": _refused(
        "ALTER TABLE store_change DISABLE TRIGGER USER",
        "DROP TRIGGER store_change_stays ON store_change",
        "SET session_replication_role = replica",
        "TRUNCATE history_link CASCADE",
    ),
    "an officer changes the revision": _refused(
        "UPDATE fleetcal_revision SET version_num = '9999'",
        "DELETE FROM fleetcal_revision",
        "INSERT INTO fleetcal_revision VALUES ('9999')",
    ),
    "an officer writes under another name": _claims_to_be_the_owner,
    "an officer puts in a change without a link": _found(_AS_KEEPER, "past the program"),
    "an officer puts in a link of his own": _links_as_it_likes,
    "an officer adds a row to another's change": _found(
        "INSERT INTO changed_row (store_change_id, act, table_name, row_id, airframe, values_json)"
        " VALUES (2, 'added', 'sortie', 1, '', '')",
        "change 2 ",
    ),
    "an officer rejects every point": _found(REJECT, "sortie 1 "),
    "an officer puts in a file": _found(COPIED_FILE, "source file"),
    "the owner deletes the history and rejects every point": _owner_found(
        *_CLEARED, REJECT, named="sortie 1 "
    ),
    "the owner deletes one change": _owner_found(
        f"DELETE FROM row_state WHERE store_change_id = {_LAST} - 5",
        f"DELETE FROM changed_row WHERE store_change_id = {_LAST} - 5",
        f"DELETE FROM history_link WHERE store_change_id = {_LAST} - 5",
        f"DELETE FROM store_change WHERE id = {_LAST} - 5",
        named="missing",
    ),
    "the owner rewrites the person of a change": _owner_found(
        "UPDATE store_change SET made_by = 'attacked_otto' WHERE id = 2", named="change 2 "
    ),
}
