"""Words that a shell completes from what the store knows."""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence

import click
from click.shell_completion import CompletionItem

from fleetcal.cli.preferred import preferred
from fleetcal.cli.shared_options import chosen


def from_store(
    *kinds: str,
) -> Callable[[click.Context, click.Parameter, str], list[CompletionItem[str]]]:
    """Return what completes a word from names in the store.

    Args:
        kinds: Fields of `KnownNames`.
    """

    def complete(
        context: click.Context, parameter: click.Parameter, begun: str
    ) -> list[CompletionItem[str]]:
        try:
            names = _names(context, kinds)
        except Exception:  # a shell that asks for words cannot use an explanation
            return []
        return [
            CompletionItem(_as_typed(name))
            for name in names
            if name.casefold().startswith(begun.casefold())
        ]

    return complete


def _names(context: click.Context, kinds: Sequence[str]) -> list[str]:
    from fleetcal.services.fleet.known_names import known_names

    where = chosen("store", context) or preferred("store", context) or None
    known = known_names(where)
    return [name for kind in kinds for name in getattr(known, kind)]


def _as_typed(name: str) -> str:
    """Return a name as bash takes it: spaces escaped, and that escaped for its own reading."""
    words = os.environ.get("COMP_WORDS", "").split("\n")
    begun = words[int(os.environ.get("COMP_CWORD", "0") or 0) :]
    quoted = bool(begun) and begun[0].startswith(("'", '"'))
    in_bash = os.environ.get("_FLEETCAL_COMPLETE") == "bash_complete"
    return name.replace(" ", "\\\\ ") if in_bash and not quoted else name


tags = from_store("airframes")
types = from_store("types")
static_sources = from_store("static_sources")
#: Where a quantity decides between groups and pairings.
groups_and_pairings = from_store("groups", "pairings")
