"""Collect the entries of a store: what is described, published and replaced."""

from __future__ import annotations

import json
from collections.abc import Collection
from dataclasses import asdict, replace
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from fleetcal.store.cruise_rows import load_cruise_tables
from fleetcal.store.description import FleetDescription, PropellerDescription, TypeDescription
from fleetcal.store.exchange.collect_flown import collect_flown
from fleetcal.store.exchange.entries import UNSAID, Entries, Entry, Key
from fleetcal.store.exchange.moments import moment_text
from fleetcal.store.fleet_lookup import load_description
from fleetcal.store.models import AircraftType, PublishedIssue, ReplacedVersion

_ISSUE_CONTENT = (
    "why",
    "inputs_json",
    "inputs_sha256",
    "table_json",
    "table_sha256",
    "files_json",
    "model",
    "program_version",
)


def collect_entries(
    session: Session,
    tags: Collection[str] | None = None,
    hashes: Collection[str] = (),
    *,
    issues: bool = True,
) -> Entries:
    """Return the entries of a store.

    Args:
        tags (collection of str): Only what these airframes flew and were checked for; what is
            described is always returned whole.
        hashes (collection of str): SHA-256 of files that are wanted as well, with all that flew in
            them.
        issues: Whether published issues are wanted.

    Returns:
        Entries by kind and key.
    """
    fleet = replace(load_description(session), cruise_tables=load_cruise_tables(session))
    entries = described(fleet)
    found = collect_flown(session, tags, hashes)
    if issues:
        found += _issues(session)
    entries |= {entry.name: entry for entry in found}
    known = replaced_digests(session)
    return {
        name: _replacing(entry, known.get(name, frozenset())) for name, entry in entries.items()
    }


def _replacing(entry: Entry, digests: frozenset[str]) -> Entry:
    """Return an entry that also stands in the place of other contents."""
    return replace(entry, replaced=(entry.replaced | digests) - {entry.digest})


def described(fleet: FleetDescription) -> Entries:
    """Return the entries that a description of a fleet consists of."""
    found: list[Entry] = []
    content: dict[str, Any]
    for kind in fleet.types:
        found.append(_type(kind))
        found += [
            Entry(
                kind="static_source",
                key=(kind.name, one.name),
                content={"description": one.description},
            )
            for one in kind.static_sources
        ]
    found += [Entry(kind="engine", key=(name,), content={}) for name in fleet.engines]
    found += [_propeller(one) for one in fleet.propellers]
    for airframe in fleet.airframes:
        tag = airframe.tag
        found.append(
            Entry(
                kind="airframe", key=(tag,), content={"type": airframe.type, "note": airframe.note}
            )
        )
        if airframe.registration is not None:
            content = {"registration": airframe.registration}
            found.append(Entry(kind="registration", key=(tag,), content=content))
        if airframe.temperature_shows is not None:
            content = {
                "shows": airframe.temperature_shows,
                "recovery_factor": airframe.recovery_factor,
            }
            found.append(Entry(kind="thermometer", key=(tag,), content=content))
        for fit in airframe.fits:
            content = asdict(fit)
            day = content.pop("from_date").isoformat()
            found.append(Entry(kind="fit", key=(tag, day), content=content))
    for book in fleet.handbooks:
        content = {
            "weight_kg": book.weight_kg,
            "rows": [list(row) for row in book.rows],
            "speeds": [list(speed) for speed in book.speeds],
        }
        key = (book.type, book.static_source, book.flap_setting, book.name)
        found.append(Entry(kind="handbook", key=key, content=content))
    for table in fleet.cruise_tables:
        content = {"weight_kg": table.weight_kg, "rows": [list(row) for row in table.rows]}
        names = (table.type, table.engine, table.propeller, table.name)
        found.append(Entry(kind="cruise_table", key=names, content=content))
    return {entry.name: entry for entry in found}


def _type(kind: TypeDescription) -> Entry:
    """Return a type; what its speeds are said to be stands in the place of speeds unsaid.

    Where nobody said, the content is as before that could be said: digests are kept for years.
    """
    content = asdict(kind)
    del content["name"], content["static_sources"]
    speeds_are = content.pop("speeds_are")
    unsaid = Entry(kind="type", key=(kind.name,), content=content)
    if not speeds_are:
        return unsaid
    return Entry(
        kind="type",
        key=(kind.name,),
        content={**content, "speeds_are": speeds_are},
        replaced=frozenset({unsaid.digest}),
    )


def _propeller(one: PropellerDescription) -> Entry:
    """Return a propeller; a known pitch stands in the place of one that nobody said."""
    if not one.pitch:
        return Entry(kind="propeller", key=(one.name,), content={})
    content = {"pitch": one.pitch}
    return Entry(kind="propeller", key=(one.name,), content=content, replaced=frozenset({UNSAID}))


def _issues(session: Session) -> list[Entry]:
    query = select(PublishedIssue, AircraftType.name).join(
        AircraftType, AircraftType.id == PublishedIssue.aircraft_type_id
    )
    return [
        Entry(
            kind="issue",
            key=(kind, row.group_name, row.flap_setting, row.number),
            content={
                "issued_on": row.issued_on.isoformat(),
                **{name: getattr(row, name) for name in _ISSUE_CONTENT},
            },
            state={
                "added_at": moment_text(row.added_at),
                "withdrawn": row.withdrawn,
                "withdrawn_on": row.withdrawn_on.isoformat() if row.withdrawn_on else None,
            },
            rows=(row.id,),
        )
        for row, kind in session.execute(query)
    ]


def replaced_digests(session: Session) -> dict[Key, frozenset[str]]:
    """Return the digests of contents that were replaced on purpose, by entry.

    Returns:
        Entries that are gone altogether are among them.
    """
    query = select(ReplacedVersion.kind, ReplacedVersion.thing_key, ReplacedVersion.digest)
    found: dict[Key, set[str]] = {}
    for kind, key, digest in session.execute(query):
        found.setdefault((kind, tuple(json.loads(key))), set()).add(digest)
    return {name: frozenset(digests) for name, digests in found.items()}


def keys_of_replaced(session: Session) -> dict[Key, dict[str, str]]:
    """Return by whose word contents were replaced or left out, where that came with a share.

    Returns:
        By entry and digest: a public key, empty where nobody signed.
    """
    query = select(
        ReplacedVersion.kind,
        ReplacedVersion.thing_key,
        ReplacedVersion.digest,
        ReplacedVersion.by_key,
    ).where(ReplacedVersion.by_key.is_not(None))
    found: dict[Key, dict[str, str]] = {}
    for kind, key, digest, by_key in session.execute(query):
        found.setdefault((kind, tuple(json.loads(key))), {})[digest] = by_key or ""
    return found
