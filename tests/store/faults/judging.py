"""What a store says after a kill, held against what it said before and would say when done."""

from __future__ import annotations

import re
import time
from dataclasses import dataclass
from pathlib import Path

import psycopg
from sqlalchemy import inspect, text

from fleetcal.services.keeping.check_store import check_store
from fleetcal.store import open_store
from tests.older_store import engine_at

State = dict[str, list[str]]
_MOMENT = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d[^\"]*")
_PATIENCE_S = 600.0
HASHED = {"row_state", "history_link"}


def state_of(place: str) -> State:
    """Every row of every table by plain SQL, without moments and without the rows' own numbers.

    A server never gives a number again that an undone transaction took. Digests and hashes of
    the history are made of both, and the check holds them against the rows.
    """
    found = {}
    with engine_at(place) as engine, engine.connect() as connection, connection.begin():
        for table in set(inspect(connection).get_table_names()) - HASHED:
            rows = connection.execute(text(f"SELECT * FROM {table}"))
            kept = [
                place
                for place, name in enumerate(rows.keys())
                if not name.endswith(("_id", "_at")) and name != "id"
            ]
            found[table] = sorted(
                _MOMENT.sub("", repr(tuple(row[place] for place in kept))) for row in rows
            )
    return found


def files_in(folder: Path) -> dict[str, bytes]:
    """Return the files a reader of the folder sees."""
    return {p.name: p.read_bytes() for p in sorted(folder.iterdir()) if p.name[0] != "."}


def faults_of(place: str) -> list[str]:
    """Return what opening the store, as any command does, and checking it tell."""
    with open_store(place, create=False) as store:
        return [f"{fault.where}: {fault.what}" for fault in check_store(store).faults]


def wait_until_nobody_is_there(place: str) -> None:
    """Wait until a server has noticed that a killed program is gone."""
    if "://" not in place:
        return
    others = (
        "SELECT count(*) FROM pg_stat_activity WHERE datname = current_database()"
        " AND pid <> pg_backend_pid() AND backend_type = 'client backend'"
    )
    until = time.monotonic() + _PATIENCE_S
    with psycopg.connect(place, autocommit=True) as connection:
        while connection.execute(others).fetchone() != (0,):
            if time.monotonic() > until:
                raise TimeoutError(f"somebody is still connected to {place}")
            time.sleep(0.002)


@dataclass(frozen=True)
class Known:
    """What a store and its published files say before a command and after it."""

    before: State
    after: State
    old_files: dict[str, bytes]
    new_files: dict[str, bytes]


def wrong_with_state(known: Known, state: State, last: str) -> tuple[bool, list[str]]:
    """Tell whether the work is there, and what contradicts how far the command had got."""
    if state not in (known.before, known.after):
        near = known.after if last in ("kept", "acknowledged") else known.before
        tables = [name for name in {*near, *state} if near.get(name) != state.get(name)]
        return False, [f"neither as before nor as after, in {', '.join(sorted(tables))}"]
    done = state == known.after
    if last in ("kept", "acknowledged") and not done:
        return done, [f"the work is gone, though it was {last}"]
    if last in ("started", "begun") and done:
        return done, ["the work is there, though the database was never told to keep it"]
    return done, []


def wrong_with_files(known: Known, found: dict[str, bytes], done: bool, last: str) -> list[str]:
    """Tell which published files are neither old nor new, or newer than the store."""
    wrong = [f"{name} is not one of the files" for name in found if name not in known.new_files]
    for name, new in known.new_files.items():
        old = known.old_files.get(name)
        if found.get(name) not in (old, new):
            wrong.append(f"{name} is neither the old nor the new file")
        elif found.get(name) == new != old and not done:
            wrong.append(f"{name} shows an issue that the store does not know")
        elif found.get(name) != new and last == "acknowledged":
            wrong.append(f"{name} is the old file, though the issue was acknowledged")
    return wrong


def copies_beside(place: str) -> list[Path]:
    """Return the copies that upgrades keep beside a file."""
    if "://" in place:
        return []
    return sorted(Path(place).parent.glob("*.before-*[0-9]"))


def wrong_with_copies(place: str, known: Known) -> list[str]:
    """Tell which kept copies are not what the store was before."""
    return [
        f"{copy.name} is not the store as it was"
        for copy in copies_beside(place)
        if state_of(str(copy)) != known.before
    ]
