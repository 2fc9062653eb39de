"""Invented stores to share: one with every kind of thing, and share files made from them."""

from __future__ import annotations

import atexit
import hashlib
import json
import os
import shutil
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from functools import cache
from pathlib import Path
from typing import Any

from sqlalchemy import inspect, text
from sqlalchemy.orm import Session

from fleetcal.services.sharing.merge_share import Choices, Merged, merge
from fleetcal.services.sharing.share_format import share_text
from fleetcal.services.sharing.share_store import ShareChoice, share
from fleetcal.services.sharing.signing_key import name_signer
from fleetcal.store import (
    NewBenchCheck,
    NewIssue,
    NewLeakCheck,
    NewSortie,
    PackedLog,
    PowerNote,
    Store,
    add_bench_check,
    add_climbs,
    add_issue,
    add_leak_check,
    add_sortie,
    add_source,
    note_powers,
    open_store,
    packed_file,
    reject_points,
    save_description,
    withdraw_check,
)
from fleetcal.store.exchange.collect_entries import collect_entries
from fleetcal.store.person import Person
from tests.store.invented_rows import CLIMB, CRUISE_TABLE, FLEET, GLIDE, LEG, MOMENT, SERIES, points
from tests.store_places import begun_at

#: Opens a store by name, with the fleet in it.
Make = Callable[[str], Store]

NO_CHOICE = Choices(None, {})
CLIMBED = MOMENT + timedelta(hours=3)
REGISTRATION = "X-YZAB"
REGISTERED = replace(
    FLEET,
    airframes=(replace(FLEET.airframes[0], registration=REGISTRATION), FLEET.airframes[1]),
    cruise_tables=(CRUISE_TABLE,),
)

NOTED = MOMENT + timedelta(hours=5)


def file_of(store: Store) -> Path:
    return Path(store.label)


def sha(word: str) -> str:
    return hashlib.sha256(word.encode()).hexdigest()


def issue(why: str = "first") -> NewIssue:
    inputs, table = '{"points": []}', '{"rows": []}'
    return NewIssue(
        issued_on=date(2024, 5, 6),
        why=why,
        inputs_json=inputs,
        inputs_sha256=sha(inputs),
        table_json=table,
        table_sha256=sha(table),
        files_json="{}",
        model="none",
    )


def fly_file(
    session: Session,
    word: str,
    tag: str = "C-01",
    day: date = date(2018, 1, 1),
    *,
    weight_kg: float = 590.0,
    now: datetime = MOMENT,
    name: str = "",
    shift: float = 0.0,
) -> int:
    """Store a flight from a file known by a word; the same word is the same file."""
    source = add_source(session, sha(word), name or f"{word}.csv", "log", now=now)
    sortie = NewSortie(
        airframe=tag,
        flown_on=day,
        weight_kg=weight_kg,
        track_reference="true",
        settings_json='{"settings": {"a": 1.5}}',
        note=f"note {word}",
    )
    kappa = -0.0125 + int(sha(word)[:4], 16) / 1e7 + shift
    legs = [replace(LEG, leg_number=number) for number in (1, 2, 3)]
    gave = [replace(one, weight_kg=weight_kg) for one in points(3, kappa=kappa)]
    return add_sortie(session, source, sortie, legs, gave, now=now).id


def climb_only(session: Session, word: str, tag: str = "C-02", *, note: str = "smooth") -> int:
    """Store the climbs of a log whose points nobody reduced."""
    source = add_source(session, sha(word), f"{word}.csv", "log", now=MOMENT)
    sortie = NewSortie(
        airframe=tag,
        flown_on=date(2020, 3, 1),
        weight_kg=585.0,
        track_reference="unknown",
        settings_json="{}",
        note=note,
    )
    number = add_sortie(session, source, sortie, [], [], now=MOMENT).id
    faster = replace(CLIMB, vic_kt=80.0)
    add_climbs(
        session, number, [CLIMB, replace(faster, number=2), replace(GLIDE, number=3)], now=CLIMBED
    )
    return number


@contextmanager
def packed_log(word: str) -> Iterator[PackedLog]:
    """Pack the log known by a word, which is all that it holds."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"{word}.csv"
        path.write_bytes(word.encode())
        with packed_file(path) as packed:
            yield packed


def fill(store: Store) -> None:
    """Put something of every kind into a store, with decisions and withdrawals."""
    with store.writing() as session:
        save_description(session, REGISTERED)
        add_climbs(session, fly_file(session, "one"), [CLIMB, GLIDE], now=CLIMBED)
        climb_only(session, "climbs alone")
        fly_file(session, "two", "C-02", date(2020, 2, 29), name="X-YZAB flight.csv")
        reject_points(session, [2], "static line loose", MOMENT + timedelta(days=1))
        powers = (
            PowerNote(
                point_id=1,
                power_pct=65.0,
                u_power_pct=3.0,
                basis="standard air",
                origin="hand",
                note=f"chart of {REGISTRATION}",
            ),
            PowerNote(point_id=3, power_pct=74.5, u_power_pct=2.0, basis="actual", origin="log"),
        )
        note_powers(session, powers, NOTED)
        source = add_source(session, sha("bench"), "indicator.csv", "bench", now=MOMENT)
        lines = ((60.0, 0.5), (90.0, 0.0), (120.0, -1.5))
        check = NewBenchCheck(
            airframe="C-02",
            kind="airspeed",
            checked_on=date(2019, 5, 1),
            u=0.4,
            rows=lines,
            note="invented",
        )
        first = add_bench_check(session, source, check, now=MOMENT)
        withdraw_check(session, "airspeed", first, "wrong instrument")
        add_bench_check(session, source, check, now=MOMENT + timedelta(hours=1))
        for day, loss_ft in ((date(2021, 5, 1), 140.0), (date(2021, 5, 8), 30.0)):
            leak = NewLeakCheck(
                airframe="C-02",
                checked_on=day,
                loss_ft=loss_ft,
                limit_ft=100.0,
                limit_source="invented",
            )
            add_leak_check(session, leak, now=MOMENT)
        add_issue(session, SERIES, 1, issue(), now=MOMENT)


def shared_text(store: Store) -> str:
    """Everything that a store would share, registrations among it."""
    with store.reading() as session:
        return share_text(collect_entries(session), registrations=True)


def write_share(store: Store, path: Path, choice: ShareChoice | None = None) -> Path:
    share(store, path, choice or ShareChoice(registrations=True))
    return path


@cache
def _people() -> Path:
    folder = tempfile.mkdtemp(prefix="fleetcal-people-")
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    return Path(folder)


@contextmanager
def signing_as(name: str) -> Iterator[Person]:
    """Let the program be used by somebody with a key of his own, known by a name."""
    folder = _people()
    before = os.environ.get("FLEETCAL_KEY")
    os.environ["FLEETCAL_KEY"] = str(folder / f"{name}.json")
    try:
        yield name_signer(name)
    finally:
        del os.environ["FLEETCAL_KEY"]
        if before is not None:
            os.environ["FLEETCAL_KEY"] = before


def merge_into(where: str | Path, path: Path, choices: Choices = NO_CHOICE) -> Merged:
    """Merge a file into a store; one that is not there is begun, by a copy."""
    if isinstance(where, Path) and not where.exists():
        begun_at(where)
    return merge(lambda: open_store(where), path, choices)


def rows_without_numbers(store: Store) -> dict[str, list[str]]:
    """Every row of every table by plain SQL, without the numbers that rows have in this store."""
    found = {}
    with store.reading() as session:
        connection = session.connection()
        for table in inspect(connection).get_table_names():
            columns = [
                column["name"]
                for column in inspect(connection).get_columns(table)
                if column["name"] != "id" and not column["name"].endswith("_id")
            ]
            rows = connection.execute(text(f"SELECT {', '.join(columns)} FROM {table}"))
            found[table] = sorted(repr(tuple(row)) for row in rows)
    return found


def with_contents(document: dict[str, Any], contents: dict[str, Any]) -> bytes:
    """A share file with other contents and the checksum that fits them, signed by nobody."""
    told = {name: one for name, one in contents.items() if name not in ("signed_by", "owners")}
    names = {name: one for name, one in document.items() if name != "signature"}
    if document["version"] > 3:
        told |= {"signed_by": None, "owners": []}
        names["signature"] = ""
    written = json.dumps(told, sort_keys=True, separators=(",", ":"))
    return json.dumps({**names, "contents": told, "sha256": sha(written)}).encode()


def without_owners(flights: Any) -> None:
    """Tell of the terms of flights in a share file only what a sortie shares, as once."""
    for sortie in flights["content"]["sorties"]:
        for point in sortie["points"]:
            for term in point["terms"]:
                term["shared"] = term.pop("owner") != "point"


LATER = datetime(2024, 8, 1, tzinfo=UTC)
