"""Choose part of a store such that nothing in it refers to anything outside."""

from __future__ import annotations

from collections.abc import Collection

from fleetcal.store.exchange.entries import FLOWN, Entries, Entry


def chosen_entries(
    entries: Entries,
    airframes: Collection[str] | None = None,
    types: Collection[str] | None = None,
    *,
    issues: bool = True,
    registrations: bool = False,
) -> Entries:
    """Return the entries that go with some airframes and types, and what those refer to.

    Args:
        airframes (collection of str): Tags; all when left out. Issues rest on the points of others
            too, so with a choice of airframes none goes along.
        types (collection of str): Names; all when left out.
        issues, registrations: Whether they go along.
    """
    tags = {
        t.key[0]
        for t in entries.values()
        if t.kind == "airframe"
        and (airframes is None or t.key[0] in airframes)
        and (types is None or t.content["type"] in types)
    }
    everything = airframes is None and types is None
    kinds = {entries[("airframe", (tag,))].content["type"] for tag in tags}
    kinds |= {t.key[0] for t in entries.values() if t.kind == "type" and airframes is None}
    kinds = {kind for kind in kinds if types is None or kind in types}
    # A type goes with all its cruise tables, an airframe with those of what it carried.
    carried = _carried(entries, tags, kinds if airframes is None else ())
    files = {t.key[0] for t in entries.values() if t.kind in FLOWN and t.key[1] in tags}
    files |= {t.key[3] for t in entries.values() if t.kind == "bench_check" and t.key[0] in tags}

    def goes(entry: Entry) -> bool:
        first = entry.key[0]
        if entry.kind in ("type", "static_source", "handbook"):
            return first in kinds
        if entry.kind in ("engine", "propeller"):
            return everything or (entry.kind, first) in carried
        if entry.kind == "cruise_table":
            return first in kinds and carried.issuperset(_pairing(entry))
        if entry.kind == "file":
            return everything or first in files
        if entry.kind in FLOWN:
            return entry.key[1] in tags
        if entry.kind == "issue":
            return issues and airframes is None and first in kinds
        return first in tags and (registrations or entry.kind != "registration")

    return {name: entry for name, entry in entries.items() if goes(entry)}


def _carried(
    entries: Entries, tags: Collection[str], kinds: Collection[str]
) -> set[tuple[str, str]]:
    """Return engines and propellers of some airframes, and of the cruise tables of some types."""
    fitted = {
        (name, entry.content[name])
        for entry in entries.values()
        if entry.kind == "fit" and entry.key[0] in tags
        for name in ("engine", "propeller")
    }
    tables = [t for t in entries.values() if t.kind == "cruise_table" and t.key[0] in kinds]
    return fitted.union(*map(_pairing, tables))


def _pairing(table: Entry) -> set[tuple[str, str]]:
    """Return engine and propeller of a cruise table."""
    return set(zip(("engine", "propeller"), table.key[1:3], strict=True))
