"""Whether an airframe that is not in the store is added with its first flight."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

import click

from fleetcal.cli.failure import inform
from fleetcal.cli.options import chosen_place
from fleetcal.cli.terminal import is_terminal
from fleetcal.errors import FleetcalError

new_airframe_option = click.option(
    "--new-airframe",
    is_flag=True,
    help="Add the airframe if it is not in the store; nothing else need be known of it.",
)


@dataclass(frozen=True)
class Addition:
    """An airframe that is to be added.

    Attributes:
        begin: Whether the store is to be begun with it.
    """

    begin: bool


def addition_of(tag: str, allowed: bool) -> Addition | None:
    """Return whether an airframe is to be added; None where it is in the store.

    On a terminal it is a question, elsewhere `allowed` decides.

    Raises:
        DataError: If it is not to be added, with the nearest tags as the hint.
        StoreError: Likewise, where there is no store yet, or the store cannot be read.
    """
    from fleetcal.services.fleet.new_airframe import (
        look_for_tag,
        refuse_bad_tag,
        refuse_same_tag,
    )

    found = look_for_tag(chosen_place(), tag)
    if found.known:
        return None
    refuse_bad_tag(tag)
    refuse_same_tag(tag, found.same_as)
    assert found.absent is not None  # it is not known
    if not (allowed or (on_terminal() and _confirmed(tag, found.absent, bool(found.store)))):
        raise type(found.absent)(found.absent.message, _hint(found.absent.hint, tag, found.store))
    return Addition(begin=not found.store)


@contextmanager
def added_if_new(tag: str, allowed: bool, weight_kg: float | None = None) -> Iterator[None]:
    """Add an airframe that is not in the store for what the block keeps.

    It goes again when the block raises; a store that was begun for it stays, empty.

    Args:
        allowed: Whether it may be added without a question.
        weight_kg: Taken as its reference weight, if any is known.

    Raises:
        DataError: As `addition_of` does.
    """
    if addition_of(tag, allowed) is None:
        yield
        return
    from fleetcal.services.fleet.new_airframe import add_airframe, take_airframe_back

    change = add_airframe(chosen_place(), tag, weight_kg)
    try:
        yield
    except BaseException:
        take_airframe_back(chosen_place(), tag, change)
        raise
    tell_of_new(tag)


def tell_of_new(tag: str) -> None:
    """Tell that an airframe was added, and how it is described."""
    inform(
        f"{tag} is new in the store; 'fleetcal fleet airframe {tag}' takes what is known of it, "
        "now or later"
    )


def on_terminal() -> bool:
    """Tell whether somebody sits there who can answer."""
    return is_terminal(sys.stdin) and is_terminal(sys.stderr)


def _confirmed(tag: str, absent: FleetcalError, has_store: bool) -> bool:
    nearest = absent.hint.removeprefix("did you mean ").removesuffix("?")
    near = f" It has {nearest}." if nearest != absent.hint else ""
    if not has_store:
        near = " There is no store yet: it would be begun."
    return click.confirm(f"{tag} is not in the store yet.{near} Add it?", err=True)


def _hint(hint: str, tag: str, store: str) -> str:
    if not store:
        return f"--new-airframe begins one with {tag}; or name another place with --store"
    return f"{hint}{' ' if hint.endswith('?') else '; '}--new-airframe adds {tag}"
