"""Look things up by the names people use, and help when a name is not there."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Mapping

from fleetcal.errors import UnknownNameError
from fleetcal.store.plain_reads import Reader, ask


def unknown_name(kind: str, name: str, known: Iterable[str]) -> UnknownNameError:
    """Return the error for a name that is not in the store, with the nearest ones as its hint.

    Args:
        kind: What was looked for, such as ``airframe``.
        name: As it was given.
        known: The names that are there.
    """
    by_fold: dict[str, str] = {}
    for candidate in sorted(known):
        by_fold.setdefault(candidate.casefold(), candidate)
    close = difflib.get_close_matches(name.casefold(), by_fold, n=3, cutoff=0.5)
    if close:
        hint = "did you mean " + " or ".join(by_fold[match] for match in close) + "?"
    elif by_fold:
        hint = f"the store knows {len(by_fold)}: " + ", ".join(list(by_fold.values())[:5])
        hint += ", ..." if len(by_fold) > 5 else ""
    else:
        hint = "the store has none yet: 'fleetcal fleet airframe TAG' describes one, or "
        hint += "load a fleet description first"
    return UnknownNameError(f"there is no {kind} {name!r} in the store", hint)


def type_of_airframe(reader: Reader, tag: str) -> str:
    """Return the name of an airframe's type.

    Raises:
        UnknownNameError: If there is no such airframe; the hint names tags that are nearly the
            same.
    """
    types = dict(
        ask(
            reader,
            """SELECT tag, aircraft_type.name
            FROM airframe JOIN aircraft_type ON aircraft_type.id = airframe.aircraft_type_id""",
        )
    )
    if tag not in types:
        raise unknown_name("airframe", tag, types)
    return str(types[tag])


def known_id(kind: str, name: str, ids: Mapping[str, int]) -> int:
    """Return the id of a name.

    Args:
        kind: What is looked for, for the message.
        ids: Ids by name.

    Raises:
        UnknownNameError: If the name is not among them.
    """
    if name not in ids:
        raise unknown_name(kind, name, ids)
    return ids[name]
