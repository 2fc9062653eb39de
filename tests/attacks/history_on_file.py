"""Attacks on the history of a file by plain SQL; each tells whether it was refused or found."""

from __future__ import annotations

import os
import pwd
import sqlite3
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from fleetcal.services.keeping.store_history import history_of
from fleetcal.store import open_store
from fleetcal.store.history_chain import link_hash
from fleetcal.store.history_guard import KEPT
from tests.store.faults.judging import faults_of

REJECT = "UPDATE calibration_point SET accepted = FALSE, reason = 'x'"
#: A change that nobody made.
FORGED = (
    "INSERT INTO store_change (made_at, made_by, act, undone, name_from)"
    " VALUES ('2024-01-01 00:00:00.000000', 'keeper', 'points reject', '', 'machine')"
)
COPIED_FILE = (
    "INSERT INTO source_file (sha256, name, kind, added_at) SELECT"
    " substr(sha256, 2) || '0', name, kind, added_at FROM source_file ORDER BY id LIMIT 1"
)


@contextmanager
def by_sql(place: Path, *, lifted: bool = False) -> Iterator[sqlite3.Connection]:
    """Yield a connection of another program; without the triggers inside if they are lifted."""
    with closing(sqlite3.connect(place, isolation_level=None)) as connection:
        query = "SELECT name, sql FROM sqlite_master WHERE type = 'trigger'"
        triggers = connection.execute(query).fetchall() if lifted else []
        for name, _ in triggers:
            connection.execute(f"DROP TRIGGER {name}")
        yield connection
        for _, sql in triggers:
            connection.execute(sql)


def _name_from_variables(place: Path) -> bool:
    environment = {**os.environ, "USER": "keeper", "LOGNAME": "keeper"}
    words = ["--store", str(place), "points", "reject", "1", "--reason", "x"]
    subprocess.run(
        [sys.executable, "-m", "fleetcal", *words], env=environment, check=True, capture_output=True
    )
    with open_store(place) as store:
        last = history_of(store).lines[-1]
    return (last.made_by, last.name_from) == (pwd.getpwuid(os.getuid()).pw_name, "machine")


def _refused(statement: str) -> Callable[[Path], bool]:
    def attack(place: Path) -> bool:
        with by_sql(place) as connection:
            try:
                connection.execute(statement)
            except sqlite3.IntegrityError as error:
                return "only added to" in str(error)
        return False

    return attack


def _found(*statements: str, named: str = "") -> Callable[[Path], bool]:
    """Return an attack without triggers that the check must find, and name."""

    def attack(place: Path) -> bool:
        with by_sql(place, lifted=True) as connection:
            for statement in statements:
                connection.execute(statement)
        return any(named in fault for fault in faults_of(str(place)))

    return attack


def _without_triggers(place: Path) -> bool:
    with by_sql(place) as connection:
        connection.execute("DROP TRIGGER changed_row_remains")
    return any("triggers" in fault for fault in faults_of(str(place)))


def _forged_link(place: Path) -> bool:
    """Add a change with a link that follows the last one; its content is made up."""
    with by_sql(place) as connection:
        last, before = connection.execute(
            "SELECT id, hash FROM history_link ORDER BY id DESC LIMIT 1"
        ).fetchone()
        change = connection.execute(FORGED).lastrowid
        made_up = link_hash(before, last + 1, change, "", "0" * 64)
        connection.execute(
            "INSERT INTO history_link (id, store_change_id, note, content, hash)"
            " VALUES (?, ?, '', ?, ?)",
            (last + 1, change, "0" * 64, made_up),
        )
    return any(f"change {change} " in fault for fault in faults_of(str(place)))


_CLEARED = tuple(f"DELETE FROM {table}" for table in ("row_state", "history_link", *KEPT[1::-1]))
_LAST = "(SELECT max(id) FROM store_change)"

FILE_ATTACKS: dict[str, Callable[[Path], bool]] = {
    "USER and LOGNAME say keeper": _name_from_variables,
    "every change deleted, by plain SQL": _refused("DELETE FROM changed_row"),
    "a change rewritten, by plain SQL": _refused("UPDATE store_change SET made_by = 'keeper'"),
    "triggers removed": _without_triggers,
    "triggers lifted, the history deleted, points rejected": _found(*_CLEARED, REJECT),
    "triggers lifted, one change deleted with its rows": _found(
        f"DELETE FROM row_state WHERE store_change_id = {_LAST} - 5",
        f"DELETE FROM changed_row WHERE store_change_id = {_LAST} - 5",
        f"DELETE FROM history_link WHERE store_change_id = {_LAST} - 5",
        f"DELETE FROM store_change WHERE id = {_LAST} - 5",
        named="missing",
    ),
    "triggers lifted, the newest change deleted, points rejected": _found(
        f"DELETE FROM row_state WHERE store_change_id = {_LAST}",
        f"DELETE FROM changed_row WHERE store_change_id = {_LAST}",
        f"DELETE FROM history_link WHERE store_change_id = {_LAST}",
        f"DELETE FROM store_change WHERE id = {_LAST}",
        REJECT,
        named="past the program",
    ),
    "triggers lifted, the person of a change rewritten": _found(
        "UPDATE store_change SET made_by = 'keeper' WHERE id = 2", named="change 2 "
    ),
    "triggers lifted, a row of a change rewritten": _found(
        "UPDATE changed_row SET airframe = 'C-99' WHERE store_change_id = 2", named="change 2 "
    ),
    "triggers lifted, a row of a change deleted": _found(
        "DELETE FROM changed_row WHERE id = (SELECT min(id) FROM changed_row"
        " WHERE store_change_id = 2)",
        named="change 2 ",
    ),
    "triggers lifted, a digest rewritten after the row": _found(
        "UPDATE sortie SET weight_kg = weight_kg + 1 WHERE id = 1",
        "UPDATE row_state SET digest = '0' WHERE table_name = 'sortie' AND row_id = 1",
    ),
    "a change put in without a link": _found(FORGED, named="past the program"),
    "a change put in with a link that fits the chain": _forged_link,
    "every point rejected": _found(REJECT, named="sortie 1 "),
    "a term of a budget rewritten": _found(
        "UPDATE uncertainty_term SET u_kappa = u_kappa * 1.01 WHERE id = 1", named="sortie "
    ),
    "a file put in": _found(COPIED_FILE, named="source file"),
    "a budget deleted": _found(
        "DELETE FROM uncertainty_term WHERE calibration_point_id = 3", named="sortie "
    ),
}
