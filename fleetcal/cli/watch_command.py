"""The command that watches the flights of one airframe."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import click

from fleetcal.cli.judge_commands import FLAG_RAISED
from fleetcal.cli.options import (
    figure_option,
    flap_option,
    open_chosen_store,
    own_tag_argument,
    source_option,
)
from fleetcal.cli.output import Column, View, emit
from fleetcal.cli.verbs import Verb

if TYPE_CHECKING:
    from fleetcal.services.curves.watched_flights import Watched


@click.command(cls=Verb, shared=("format", "details"))
@own_tag_argument("tag")
@source_option(help="Watch the time with this one, in place of the one fitted now.")
@flap_option
@click.option(
    "--fail-if-changed", is_flag=True, help="Exit with code 6 if the airspeed error changed."
)
@figure_option
def watch(
    tag: str,
    static_source: str | None,
    flap_setting: str,
    fail_if_changed: bool,
    figure: Path | None,
) -> None:
    """Watch the flights of the airframe TAG in order: has its airspeed error changed?

    Tells when, by how much and between which flights, and keeps false alarms to one
    in 200 series of fifty flights. A known change of the static source begins a
    new series; 'fleetcal change' judges it.

    \b
    Example:
      fleetcal watch C-07
      fleetcal watch C-07 --out C-07-flights.svg
      fleetcal watch C-12 --static-source "fuselage side"
    """
    from fleetcal.services.curves.watch_airframe import watch_airframe

    with open_chosen_store() as store:
        found = watch_airframe(store, tag, flap_setting, static_source, figure)
    emit(found, WATCH)
    if fail_if_changed and found.changed:
        click.get_current_context().exit(FLAG_RAISED)


def _answer(found: Watched) -> Iterator[str]:
    yield f"{found.verdict}."


def _head(found: Watched) -> Iterator[str]:
    yield (
        f"Each flight: its correction at {found.ias_kt:.0f} kt IAS and {found.weight_kg:.0f} kg "
        f"minus the airframe's own mean{' before the first change' if found.changes else ''}."
    )


def _foot(found: Watched) -> Iterator[str]:
    from fleetcal.services.curves.watch_words import size_words

    for change in found.changes:
        yield size_words(change)
    for sentence in found.left_out:
        yield f"Left out: {sentence}."
    for note in (*found.notes, *found.hints):
        yield f"{note}."


def _details(found: Watched) -> Iterator[str]:
    yield f"Model: {found.model}."


WATCH: View[Watched] = View(
    kind="watch",
    rows="flights",
    columns=[
        Column("flight"),
        Column("flown_on"),
        Column("points"),
        Column("from_own_kt", 1, sign=True, heading="from its own mean"),
        Column("low_kt", 1, sign=True, to="high_kt", heading="95 % band"),
        Column("mark", wraps=True),
    ],
    answer=_answer,
    head=_head,
    foot=_foot,
    details=_details,
    cautioned=True,
    tells_of="curve",
)
