"""Take registrations out of everything that a share file would carry."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from fleetcal.services.publishing.discretion import Discretion
from fleetcal.store.exchange.take_out_flights import content_mark
from fleetcal.store.exchange.things import Thing, Things, canonical


def discretion_of(things: Things) -> Discretion:
    """Return what makes tags of the registrations that are among some things.

    Returns:
        Registrations are also found without their hyphen, or with a blank or a low line in its
        place.
    """
    known: dict[str, str] = {}
    for thing in things.values():
        if thing.kind == "registration":
            written = thing.content["registration"].strip()
            ways = {written, *(written.replace("-", other) for other in ("", " ", "_"))}
            known |= {way: thing.key[0] for way in sorted(ways) if len(way) > 2}
    return Discretion(known, tell_days=True)


def without_registrations(things: Things, discretion: Discretion) -> tuple[Things, list[Thing]]:
    """Return things in which tags stand in the place of registrations.

    Returns:
        left_out: Issues that name a registration: changed, they would no longer be what was
            published.
    """
    found: Things = {}
    left_out = []
    for thing in things.values():
        content = _worded(thing.content, discretion)
        if thing.kind == "issue" and canonical(content) != canonical(thing.content):
            left_out.append(thing)
            continue
        key = thing.key
        if thing.kind in ("bench_check", "leak_check"):
            key = (*key[:-2], content_mark(content), key[-1])
        if thing.kind == "climbs":
            key = (*key[:3], discretion.words(key[3]))
        changed = replace(thing, key=key, content=content, state=_worded(thing.state, discretion))
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
