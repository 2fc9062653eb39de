"""What two stores say differently, in words."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from typing import Any

from fleetcal.store.exchange.entries import Entry, canonical
from fleetcal.store.exchange.merge_state import State


def differences(own: Entry, other: Entry) -> tuple[str, str]:
    """Return in words what two contents of one entry say differently."""
    if own.kind == "flights":
        return _flights_in_words(own), _flights_in_words(other)
    if own.kind == "climbs":
        return _climbs_in_words(own), _climbs_in_words(other)
    names = sorted(
        name
        for name in own.content.keys() | other.content.keys()
        if own.content.get(name) != other.content.get(name)
    )
    return _values_in_words(own, names), _values_in_words(other, names)


def _values_in_words(entry: Entry, names: list[str]) -> str:
    parts = (f"{name} {_short(entry.content.get(name))}" for name in names)
    return ", ".join(parts)


def _short(value: Any) -> str:
    text = canonical(value) if not isinstance(value, str) else value or "(blank)"
    return text if len(text) <= 60 else f"{text[:57]}..."


def _flights_in_words(entry: Entry) -> str:
    sorties = entry.content["sorties"]
    points = [point for sortie in sorties for point in sortie["points"]]
    weights = ", ".join(sorted({f"{sortie['weight_kg']:g} kg" for sortie in sorties}))
    kappas = ", ".join(f"{point['kappa']:+.4f}" for point in points[:3])
    return f"{len(points)} points at {weights}, kappa {kappas}" + (
        ", ..." if len(points) > 3 else ""
    )


def _climbs_in_words(entry: Entry) -> str:
    climbs = entry.content["climbs"]
    rates = ", ".join(f"{climb['rate_ftmin']:+.0f}" for climb in climbs[:3])
    more = ", ..." if len(climbs) > 3 else ""
    return f"{len(climbs)} on {entry.content['flown_on']}, {rates}{more} ft/min"


def summary(entry: Entry) -> str:
    """Return in words what an entry would bring."""
    if entry.kind == "flights":
        days = ", ".join(sorted({sortie["flown_on"] for sortie in entry.content["sorties"]}))
        return f"{days}, {_flights_in_words(entry)}"
    if entry.kind == "climbs":
        return _climbs_in_words(entry)
    if entry.kind == "leak_check":
        lost, limit = (entry.content[name] for name in ("loss_ft", "limit_ft"))
        bars = ", and bars flights" if lost > limit else ""
        return f"it lost {lost:g} ft in a minute, the limit is {limit:g} ft{bars}"
    return _values_in_words(entry, sorted(entry.content)) or "no values"


def state_differences(own: State, merged: State) -> str:
    """Return in words what a merged state decides that is not decided here."""
    found: Counter[str] = Counter()
    for one, now in zip(own.get("sorties", [own]), merged.get("sorties", [merged]), strict=True):
        for before, after in zip(one.get("decisions", ()), now.get("decisions", ()), strict=True):
            if before != after:
                found[_decision_in_words(after)] += 1
        powers = zip(one.get("powers", ()), now.get("powers", ()), strict=True)
        found["given another power"] += sum(before != after for before, after in powers)
    parts = [f"{count} {words}" for words, count in sorted(found.items()) if count]
    if own.get("withdrawn", "") != merged.get("withdrawn", ""):
        parts.append(f"withdrawn: {_short(merged['withdrawn'])}")
    if own.get("withdrawn_on") != merged.get("withdrawn_on"):
        parts.append(f"withdrawn on {merged['withdrawn_on']}")
    return ", ".join(parts)


def _decision_in_words(decision: Mapping[str, Any]) -> str:
    return "accepted" if decision["accepted"] else f"left out ({_short(decision['reason'])})"
