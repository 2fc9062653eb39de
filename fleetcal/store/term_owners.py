"""Whose error a term of a budget is, and what it was called before that was kept."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

_LASTING: Final = {
    "outside-air temperature": "airframe",
    "airspeed indicator": "airframe",
    "altimeter": "airframe",
    "recovery factor": "fleet",
}


def owner_of_older(name: str, shared: bool) -> str:
    """Return the owner of a term that only says whether its sortie shares it.

    Revision 0010 of the store upgrades by the same rule.

    Args:
        shared: Whether all points of the sortie have the same unknown value.

    Returns:
        One of `fleetcal.records.OWNERS`.
    """
    return _LASTING.get(name, "sortie") if shared else "point"


def with_owner(term: Mapping[str, Any]) -> dict[str, Any]:
    """Return a term with its owner, where it was written without one.

    Args:
        term: With ``name`` and either ``owner`` or ``shared``.
    """
    values = dict(term)
    if "shared" in values:
        values["owner"] = owner_of_older(values["name"], bool(values.pop("shared")))
    return values


def as_older(term: Mapping[str, Any]) -> dict[str, Any]:
    """Return a term as it was written without an owner, where that says the same.

    So that what was kept of a flight before, and what is kept now, are found alike.

    Args:
        term: With ``name`` and ``owner``.

    Returns:
        Unchanged where the rule for older terms would give it another owner.
    """
    shared = term["owner"] != "point"
    if owner_of_older(term["name"], shared) != term["owner"]:
        return dict(term)
    return {**{name: value for name, value in term.items() if name != "owner"}, "shared": shared}
