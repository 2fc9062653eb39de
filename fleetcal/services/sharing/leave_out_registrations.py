"""Take registrations out of everything that a share file would carry."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from fleetcal.services.publishing.discretion import Discretion
from fleetcal.store.exchange.collect_flown import content_mark
from fleetcal.store.exchange.entries import Entries, Entry, canonical


def discretion_of(entries: Entries) -> Discretion:
    """Return what makes tags of the registrations that are among some entries."""
    found = [entry for entry in entries.values() if entry.kind == "registration"]
    return Discretion({e.content["registration"]: e.key[0] for e in found}, with_days=True)


def without_registrations(entries: Entries, discretion: Discretion) -> tuple[Entries, list[Entry]]:
    """Return entries in which tags stand in the place of registrations.

    Returns:
        left_out: Issues that name a registration: changed, they would no longer be what was
            published.
    """
    found: Entries = {}
    left_out = []
    for entry in entries.values():
        content = _worded(entry.content, discretion)
        if entry.kind == "issue" and canonical(content) != canonical(entry.content):
            left_out.append(entry)
            continue
        key = entry.key
        if entry.kind in ("bench_check", "leak_check"):
            key = (*key[:-2], content_mark(content), key[-1])
        if entry.kind == "climbs":
            key = (*key[:3], discretion.words(key[3]))
        changed = replace(entry, key=key, content=content, state=_worded(entry.state, discretion))
        found[changed.name] = changed
    return found, left_out


def _worded(value: Any, discretion: Discretion) -> Any:
    if isinstance(value, str):
        return discretion.words(value)
    if isinstance(value, Mapping):
        return {name: _worded(inner, discretion) for name, inner in value.items()}
    if isinstance(value, list | tuple):
        return [_worded(inner, discretion) for inner in value]
    return value
