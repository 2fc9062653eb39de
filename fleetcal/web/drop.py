"""Where flights come in: logs that are dropped, or legs that are typed."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from pathlib import Path
from typing import Final

from flask import Blueprint, request
from werkzeug.datastructures import FileStorage
from werkzeug.wrappers import Response

from fleetcal.errors import DataError, FleetcalError
from fleetcal.publish.templating import render
from fleetcal.services.kept_file import plain_name
from fleetcal.web.flights import the_flights
from fleetcal.web.refusal import refusal
from fleetcal.web.several import begin_several, log_name
from fleetcal.web.shown import frame_of, onward

drop = Blueprint("drop", __name__)
_ROWS: Final = 12
#: Cells of a typed row: field, words, and the heading of its column without a unit.
_CELLS: Final = (
    ("run", "Run", "run"),
    ("ias", "IAS", "ias"),
    ("altitude", "Altitude", "pressure_altitude"),
    ("oat", "OAT", "oat"),
    ("ground_speed", "Ground speed", "ground_speed"),
    ("track", "Track", "track"),
)
_UNITS: Final[dict[str, tuple[str, ...]]] = {
    "speed_unit": ("kt", "mph", "km/h"),
    "height_unit": ("ft", "m"),
    "temperature_unit": ("degC", "degF"),
    "north": ("", "true", "magnetic"),
}
_Answer = str | Response | tuple[str, int]


@drop.get("/flight/")
def show() -> str:
    """Show where to drop a log."""
    return _page({})


@drop.post("/flight/")
def take() -> _Answer:
    """Take what was dropped: one log to look at, or several to be reduced."""
    files = [
        file
        for name in ("logs", "folder")
        for file in request.files.getlist(name)
        if file.filename and not plain_name(file.filename, "log").startswith(".")
    ]
    try:
        if not files:
            raise DataError("no file was chosen", "choose a log, or drop one on the page")
        if len(files) > 1:
            return onward(begin_several(files))
        flight = the_flights().add(lambda folder: saved(files[0], folder))
    except FleetcalError as error:
        return _page({}, error), 400
    return onward(f"flight/{flight.number}/")


@drop.post("/flight/typed")
def typed() -> _Answer:
    """Take legs that were typed from a kneeboard."""
    try:
        text = sheet_of(request.form)
        flight = the_flights().add(lambda folder: _written(folder, text))
        if flight.opened is None:
            the_flights().forget(flight.number)
            assert flight.trouble is not None
            raise flight.trouble
    except FleetcalError as error:
        return _page(request.form, error), 400
    return onward(f"flight/{flight.number}/")


def saved(file: FileStorage, folder: Path) -> Path:
    """Write a file that was sent into a folder, under its own name alone."""
    path = folder / log_name(file)
    file.save(path)
    return path


def _written(folder: Path, text: str) -> Path:
    path = folder / "kneeboard.csv"
    path.write_text(text, encoding="utf-8")
    return path


def sheet_of(form: Mapping[str, str]) -> str:
    """Return typed legs as a leg sheet.

    Raises:
        DataError: If no leg is typed, or a cell holds more than a number.
    """
    chosen = {name: form.get(name, known[0]) for name, known in _UNITS.items()}
    for name, value in chosen.items():
        if value not in _UNITS[name]:
            raise DataError(f"{value!r} is no unit of the list", "choose one of the list")
    units = {
        "ias": chosen["speed_unit"],
        "altitude": chosen["height_unit"],
        "oat": chosen["temperature_unit"],
        "ground_speed": chosen["speed_unit"],
        "track": "deg",
    }
    sheet = io.StringIO()
    writer = csv.writer(sheet, lineterminator="\n")
    headings = [
        f"{heading} ({units[field]})" if field in units else heading for field, _, heading in _CELLS
    ]
    headings[-1] = f"{chosen['north']} {headings[-1]}".strip()
    writer.writerow(headings)
    rows = [
        [" ".join(form.get(f"{field}-{place}", "").split()) for field, _, _ in _CELLS]
        for place in range(1, _ROWS + 1)
    ]
    filled = [row for row in rows if any(row[1:])]
    if not filled:
        raise DataError("no leg was typed", "fill in one row for each leg")
    writer.writerows(
        [[row[0] or "1", *(cell.replace(",", ".") for cell in row[1:])] for row in filled]
    )
    return sheet.getvalue()


def _page(values: Mapping[str, str], error: FleetcalError | None = None) -> str:
    return render(
        "desk_drop.html",
        frame=frame_of(refused=refusal(error)),
        title="Look at a flight",
        values=values,
        cells=[(field, words) for field, words, _ in _CELLS],
        rows=range(1, _ROWS + 1),
        units=_UNITS,
        typing=bool(values),
    )
