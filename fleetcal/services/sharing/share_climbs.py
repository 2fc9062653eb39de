"""The shape of climbs and glides in a share file, and what must hold between them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from fleetcal.records import Climb
from fleetcal.services.sharing.shape import (
    Check,
    columns,
    day,
    filled,
    flag,
    listing,
    moment,
    number,
    one_of,
    optional,
    record,
    row,
    sha256_text,
    text,
    wrong,
)
from fleetcal.store.exchange.collect_climbs import NOT_CONTENT
from fleetcal.store.exchange.cross_checks_of_climbs import days_of
from fleetcal.store.exchange.entries import Entries, Entry, shown

DECISION: Final = record({"accepted": flag, "reason": text, "decided_at": optional(moment)})
_CLIMB: Final = record(*columns(Climb, *NOT_CONTENT))
_BARE_SORTIE: Final = record(
    {
        "weight_kg": number,
        "track_reference": one_of("true", "magnetic", "unknown"),
        "program_version": text,
        "note": text,
        "added_at": moment,
    }
)

#: Key, content and state.
CLIMBS: Final[tuple[Check, Check, Check]] = (
    row(sha256_text, filled, one_of("climb", "glide"), filled),
    record({"flown_on": day, "climbs": listing(_CLIMB)}),
    record({"added_at": moment, "decisions": listing(DECISION), "sortie": optional(_BARE_SORTIE)}),
)


def check_climbs(entries: Entries, first_fits: Mapping[str, str], name: str) -> None:
    """Check climbs against their decisions, the flights of their log, and each other.

    Args:
        first_fits: First day on which something was fitted, by tag.
        name: Of the file, for messages.

    Raises:
        MalformedFileError: If something does not hold together.
    """
    sorties: dict[tuple[Any, ...], Any] = {}
    for entry in entries.values():
        if entry.kind != "climbs":
            continue
        where = f"{name}: {shown(entry)}"
        flown_on = entry.content["flown_on"]
        _check_alone(entry, where)
        if flown_on < first_fits.get(entry.key[1], "9999"):
            wrong(where, f"nothing was fitted to {entry.key[1]} on {flown_on}")
        flights = entries.get(("flights", entry.key[:2]))
        if (flights is None) == (entry.state["sortie"] is None):
            wrong(where, "contradicts the file on whether it has the flights")
        if flights is not None and flown_on not in days_of(flights):
            wrong(where, f"was flown on {flown_on}, which its flights were not")
        sortie = sorties.setdefault((*entry.key[:2], flown_on), entry.state["sortie"])
        if sortie != entry.state["sortie"]:
            wrong(where, "describes its sortie differently from others of the same log")


def _check_alone(entry: Entry, where: str) -> None:
    climbs, decisions = entry.content["climbs"], entry.state["decisions"]
    if not climbs or len(climbs) != len(decisions):
        wrong(where, f"{len(climbs)} of them, {len(decisions)} decisions")
