"""The files of one airframe that lie beside its page: its own tables and its points."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from fleetcal.plain_text import file_stem
from fleetcal.publish.pooled_table import PooledTable
from fleetcal.publish.published_files import FORMATS, table_contents
from fleetcal.publish.site.content_airframe import AirframePage
from fleetcal.publish.site.downloads import FOLDER, Download, points_csv

#: Formats of an own table, with what a link calls them.
_OWN_FORMATS: Final = {"csv": "CSV", "json": "JSON"}
_CARD: Final = {"card": "card for the cockpit, PDF"}


def airframe_downloads(airframe: AirframePage, *, card: bool = False) -> list[Download]:
    """Return the files of an airframe: its own table at each flap setting, and its points.

    Args:
        card: With a card of each table, which takes 0.1 s to make: for one that is asked for,
            not for all airframes of a fleet.
    """
    stem = file_stem(airframe.tag)
    own = [
        Download(
            f"{FOLDER}/own-{stem}--{file_stem(one.flap_setting)}{FORMATS[name]}",
            f"corrections, flaps {one.flap_setting}, {words}",
            _table_maker(one.table, name),
        )
        for one in airframe.own
        if one.table is not None
        for name, words in (_OWN_FORMATS | (_CARD if card else {})).items()
    ]
    if not airframe.points:
        return own
    path = f"{FOLDER}/points-{stem}.csv"
    return [*own, Download(path, "its points, CSV", lambda: points_csv([airframe]))]


def may_be_of(name: str, tag: str) -> bool:
    """Tell whether a file of that name may be one of an airframe's, without making its page."""
    stem = file_stem(tag)
    return name == f"points-{stem}.csv" or name.startswith(f"own-{stem}--")


def _table_maker(table: PooledTable, name: str) -> Callable[[], bytes]:
    return lambda: table_contents(table, (name,))[name]
