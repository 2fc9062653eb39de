"""The files that lie beside the pages, for spreadsheets and programs and for the cockpit.

Made for a folder with its pages, and one at a time where pages are served.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from fleetcal.plain_text import harmless_cell
from fleetcal.publish.cautions import SHORT_CAUTION
from fleetcal.publish.published_files import FORMATS, table_contents
from fleetcal.publish.site.content import GroupPage, Overview
from fleetcal.publish.site.content_airframe import AirframeSummary
from fleetcal.publish.site.departures import departures_of
from fleetcal.wording import decimal

#: Formats of a group's table, with what a link calls them. Its PDF takes most of a second.
_TABLE_FORMATS: Final = {
    "csv": "CSV",
    "json": "JSON",
    "markdown": "Markdown",
    "card": "card for the cockpit, PDF",
}
FOLDER: Final = "tables"

Cell = str | int | float | bool | None


@dataclass(frozen=True)
class Download:
    """One file; `path` counts from the root, `words` is what a link to it says."""

    path: str
    words: str
    make: Callable[[], bytes]


def group_downloads(group: GroupPage) -> list[Download]:
    """Return the files of a group's table."""
    stem = group.path.rpartition("/")[2].removesuffix(".html")

    def maker(name: str) -> Callable[[], bytes]:
        return lambda: table_contents(group.table, (name,))[name]

    return [
        Download(f"{FOLDER}/{stem}{FORMATS[name]}", words, maker(name))
        for name, words in _TABLE_FORMATS.items()
    ]


def fleet_downloads(fleet: Overview) -> list[Download]:
    """Return the files of the overview's tables and of all points."""
    made: dict[str, tuple[str, Callable[[Overview], bytes]]] = {
        "groups": ("groups", _groups),
        "airframes": ("airframes", _airframes),
        "departures": ("departures", _departures),
        "points": ("all points", _points),
    }

    def maker(make: Callable[[Overview], bytes]) -> Callable[[], bytes]:
        return lambda: make(fleet)

    return [
        Download(f"{FOLDER}/{name}.csv", f"{words}, CSV", maker(make))
        for name, (words, make) in made.items()
    ]


def _groups(fleet: Overview) -> bytes:
    return _csv(
        {
            "type": line.type,
            "group": line.group,
            "flap_setting": line.flap_setting,
            "airframes": line.airframes,
            "sorties": line.sorties,
            "points": line.points,
            "slowest_kt": _number(line.slowest_kt),
            "fastest_kt": _number(line.fastest_kt),
            "outside": line.outside,
            "set_aside": line.set_aside,
            "has_curve": bool(line.page),
        }
        for line in fleet.group_lines
    )


def _airframes(fleet: Overview) -> bytes:
    return _csv(
        {
            "airframe": one.tag,
            "type": one.type,
            "static_source": one.fits[-1].static_source if one.fits else "",
            "engine": one.fits[-1].engine if one.fits else "",
            "propeller": one.fits[-1].propeller if one.fits else "",
            "sorties": len({point.sortie for point in one.points}),
            "points": len(one.points),
            "points_out": sum(bool(point.out) for point in one.points),
            "last_flown": max((point.flown for point in one.points), default=""),
            "verdict": one.verdict,
            "watch": " ".join(one.alarms),
        }
        for one in fleet.airframes
    )


def _departures(fleet: Overview) -> bytes:
    found = departures_of(fleet.airframes)
    lines = [*found.first, *(line for _, inside in found.ordinary for line in inside)]
    return _csv(
        {
            "airframe": line.tag,
            "group": line.group,
            "verdict": line.verdict,
            "departure_kt": decimal(line.departure_kt, 2),
            "low_kt": decimal(line.low_kt, 2),
            "high_kt": decimal(line.high_kt, 2),
            "at_ias_kt": decimal(line.at_ias_kt, 0),
            "caution": SHORT_CAUTION,
        }
        for line in lines
    )


def _points(fleet: Overview) -> bytes:
    return points_csv(fleet.airframes)


def points_csv(airframes: Iterable[AirframeSummary]) -> bytes:
    """Return all points of airframes, a line each."""
    return _csv(
        {
            "airframe": one.tag,
            "flown": point.flown,
            "sortie": point.sortie,
            "technique": point.technique,
            "group": point.group,
            "flap_setting": point.flap_setting,
            "vic_kt": decimal(point.vic_kt, 1),
            "weight_kg": decimal(point.weight_kg, 1),
            "pressure_altitude_ft": decimal(point.pressure_altitude_ft, 0),
            "dvpc_kt": decimal(point.dvpc_kt, 2),
            "u_dvpc_kt": decimal(point.u_dvpc_kt, 2),
            "dhpc_ft": decimal(point.dhpc_ft, 0),
            "in_pool": not point.out,
            "why_out": point.out,
            "caution": SHORT_CAUTION,
        }
        for one in airframes
        for point in one.points
    )


def _csv(rows: Iterable[Mapping[str, Cell]]) -> bytes:
    """Return rows as RFC 4180 text in which no spreadsheet finds a formula; empty without rows."""
    lines: Sequence[Mapping[str, Cell]] = list(rows)
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\r\n")
    if lines:
        writer.writerow(lines[0])
    writer.writerows([_cell(value) for value in line.values()] for line in lines)
    return text.getvalue().encode("utf-8", "replace")


def _number(value: float | None) -> str:
    return "" if value is None else decimal(value, 1)


def _cell(value: Cell) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, int | float):
        return str(value)
    try:
        float(value)
    except ValueError:
        return harmless_cell(value)
    return value
