"""What is merged by rule and needs no choice: first added, last decided, withdrawn for good.

Each rule takes the lesser or the greater of two values or joins two sets, so that
doing it twice changes nothing and the order does not matter.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from fleetcal.store.exchange.entries import canonical

State = Mapping[str, Any]


def merged_state(kind: str, one: State, other: State) -> dict[str, Any]:
    """Return the state that two stores which agree on an entry have together.

    Args:
        one, other: In either order.
    """
    if kind == "file":
        return min(dict(one), dict(other), key=lambda s: (s["added_at"], s["name"]))
    if kind == "flights":
        pairs = zip(one["sorties"], other["sorties"], strict=True)
        return {"sorties": [_merged_sortie(a, b) for a, b in pairs]}
    if kind == "climbs":
        return {
            "added_at": min(one["added_at"], other["added_at"]),
            "decisions": _merged_decisions(one, other),
            "sortie": first_sortie((one["sortie"], other["sortie"])),
        }
    if kind in ("bench_check", "leak_check", "issue"):
        merged = {
            "added_at": min(one["added_at"], other["added_at"]),
            "withdrawn": _joined(one["withdrawn"], other["withdrawn"]),
        }
        if kind == "issue":
            days = [s["withdrawn_on"] for s in (one, other) if s["withdrawn_on"] is not None]
            merged["withdrawn_on"] = min(days, default=None)
        return merged
    return {}


def unchanged_state(kind: str, own: State, merged: State) -> dict[str, Any]:
    """Return a merged state without what somebody decided, noted or withdrew elsewhere.

    Args:
        own: As it is here.
        merged: Of `merged_state`.
    """
    kept = dict(merged)
    if kind == "flights":
        pairs = zip(own["sorties"], merged["sorties"], strict=True)
        kept["sorties"] = [
            {**now, "decisions": one["decisions"], "powers": one["powers"]} for one, now in pairs
        ]
    for name in ("decisions", "withdrawn", "withdrawn_on"):
        if name in own:
            kept[name] = own[name]
    return kept


def _merged_sortie(one: State, other: State) -> dict[str, Any]:
    first = min(one, other, key=lambda s: (s["added_at"], s["program_version"]))
    return {
        "added_at": first["added_at"],
        "program_version": first["program_version"],
        "decisions": _merged_decisions(one, other),
        "powers": [later_power(a, b) for a, b in zip(one["powers"], other["powers"], strict=True)],
    }


def later_power(one: State | None, other: State | None) -> dict[str, Any] | None:
    """Return the power that was noted last, at one moment the one whose text is greater.

    Args:
        one, other: None where none is noted; any power stands against that.
    """
    noted = [dict(power) for power in (one, other) if power is not None]
    return max(noted, key=lambda p: (p["noted_at"], canonical(p)), default=None)


def _merged_decisions(one: State, other: State) -> list[dict[str, Any]]:
    pairs = zip(one["decisions"], other["decisions"], strict=True)
    return [dict(a if later(a) >= later(b) else b) for a, b in pairs]


def first_sortie(sorties: Iterable[State | None]) -> State | None:
    """Return what was stored first of sorties that hold nothing but climbs.

    Args:
        sorties: None for climbs that stand under flights.
    """
    found = [sortie for sortie in sorties if sortie is not None]
    return min(found, key=lambda s: (s["added_at"], canonical(s)), default=None)


def later(decision: State) -> tuple[str, bool, str]:
    """Order decisions: what somebody decided after what nobody did, at one moment the stricter."""
    return decision["decided_at"] or "", not decision["accepted"], decision["reason"]


def _joined(one: str, other: str) -> str:
    """Join the reasons of a withdrawal; both stay readable."""
    if not one or not other or one == other:
        return one or other
    return "; ".join(sorted({*one.split("; "), *other.split("; ")}))
