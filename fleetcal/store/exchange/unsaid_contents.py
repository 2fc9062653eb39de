"""Contents of airframes that were kept by a name alone, which any description takes the place of.

They follow from the tag, so that a description wins in every store without a choice, also where
the two stores never met before.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, replace
from typing import Any

from fleetcal.store.exchange.entries import Entry
from fleetcal.store.undescribed import FIRST_DAY, supposed_type, undescribed, undescribed_airframe


def unsaid_digests(entry: Entry) -> frozenset[str]:
    """Return the digests of contents that an entry takes the place of because nobody said more."""
    return frozenset(
        replace(entry, content=content, replaced=frozenset()).digest for content in _unsaid(entry)
    ) - {entry.digest}


def _unsaid(entry: Entry) -> list[Mapping[str, Any]]:
    if entry.kind == "airframe":
        former = undescribed("type", entry.key[0])
        return [{"type": former, "note": note} for note in ("", entry.content["note"])]
    if entry.kind == "fit" and entry.key[1] == FIRST_DAY.isoformat():
        ((fit,),) = (one.fits for one in undescribed_airframe(entry.key[0]).airframes)
        return [_without(asdict(fit), "from_date")]
    if entry.kind == "type":
        kind = supposed_type(entry.key[0])
        return [_without(asdict(kind), "name", "static_sources", "speeds_are")]
    return []


def _without(content: dict[str, Any], *names: str) -> dict[str, Any]:
    return {name: value for name, value in content.items() if name not in names}
