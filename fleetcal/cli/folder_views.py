"""How a folder of flights is printed: how many are kept, and what they say together."""

from __future__ import annotations

import shlex
from collections.abc import Iterator
from typing import TYPE_CHECKING

from fleetcal.cli.failure import message_line
from fleetcal.cli.flight_views import printed_units
from fleetcal.cli.options import program_words
from fleetcal.cli.output import DETAIL, Column, View, text_table

if TYPE_CHECKING:
    from fleetcal.services.flights.reduce_folder import FolderReduction

_SEASON = [
    Column("airframe"),
    Column("slowest_kt", 0),
    Column("fastest_kt", 0),
    Column("points"),
    Column("flights"),
    Column("least_kt", 1, sign=True),
    Column("most_kt", 1, sign=True),
]


def _answer(result: FolderReduction) -> Iterator[str]:
    from fleetcal.services.flights.folder_sentences import folder_sentences

    yield from folder_sentences(result, printed_units())
    if len({speed.airframe for speed in result.season}) == 1:
        airframe = result.season[0].airframe
        yield f"Joined into one curve: {shlex.join([*program_words(), 'curve', airframe])}"


def _foot(result: FolderReduction) -> Iterator[str]:
    from fleetcal.services.flights.folder_sentences import failure_sentences

    yield from map(message_line, failure_sentences(result))


def _details(result: FolderReduction) -> Iterator[str]:
    if result.season:
        yield "Smallest and largest correction measured, added to the reading:"
        yield from text_table(result.season, _SEASON)


FOLDER: View[FolderReduction] = View(
    kind="folder_reduction",
    rows="files",
    columns=[
        Column("file"),
        Column("airframe"),
        Column("outcome"),
        Column("runs"),
        Column("not_accepted"),
        Column("sortie_id", importance=DETAIL),
    ],
    answer=_answer,
    foot=_foot,
    details=_details,
    details_hint="Numbers of the sorties and the ranges as a table: --details.",
    cautioned=True,
    tells=lambda result: result.stored > 0 or bool(result.season),
)
