"""Several logs at once: reduced one after another, with what came of each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Final

from flask import Blueprint, current_app, request
from werkzeug.datastructures import FileStorage
from werkzeug.wrappers import Response

from fleetcal.errors import DataError, FleetcalError, UnknownNameError
from fleetcal.plain_text import sentence
from fleetcal.publish.templating import render
from fleetcal.services.chosen_store import Store
from fleetcal.services.fleet.airframe_answers import AirframeAnswers
from fleetcal.services.fleet.describe_airframe import describe_airframe
from fleetcal.services.fleet.new_airframe import newest_change, take_airframe_back
from fleetcal.services.flights.folder_crew import own_crew, useful_processes
from fleetcal.services.flights.folder_list import FolderFlight
from fleetcal.services.flights.page_words import on_a_page
from fleetcal.services.flights.reduce_folder import STORED, FolderLine, reduce_folder
from fleetcal.services.flights.reduction import FlightDetails
from fleetcal.services.flights.settings_file import ReductionSettings
from fleetcal.services.kept_file import plain_name
from fleetcal.web.flight_form import (
    BLANK,
    NEW,
    details_of,
    groups,
    new_airframe_of,
    typed_in,
    written,
)
from fleetcal.web.flights import the_flights
from fleetcal.web.progress import lead_to
from fleetcal.web.refusal import refusal, wrong_fields
from fleetcal.web.shown import frame_of, the_desk
from fleetcal.web.work import LongWork

several = Blueprint("several", __name__)
_EXTENSION: Final = "several logs"
#: Bytes that any file system takes, and letters kept of a name that is longer.
_LONGEST_NAME: Final = 200
_KEPT_OF_NAME: Final = 40
_Answer = str | Response | tuple[str, int]


@dataclass(kw_only=True)
class SeveralLogs:
    """Logs that were dropped together.

    Attributes:
        files: In the order of their names.
        lines: What came of each that was reduced.
        fields: Of the form, as they were written last.
    """

    number: int
    files: tuple[Path, ...]
    lines: list[FolderLine] = field(default_factory=list)
    fields: dict[str, str] = field(default_factory=lambda: dict(BLANK))


def log_name(file: FileStorage) -> str:
    """Return the name of a file that was sent, without folders and short enough to be one."""
    name = plain_name(file.filename or "", "log")
    stem, dot, ending = name.rpartition(".")
    if len(name.encode()) <= _LONGEST_NAME:
        return name
    return f"{stem[:_KEPT_OF_NAME]}{dot}{ending[:_KEPT_OF_NAME]}" if dot else name[:_KEPT_OF_NAME]


def begin_several(files: Sequence[FileStorage]) -> str:
    """Save files that were dropped together, and return the page that leads on."""
    number, folder = the_flights().new_folder("several")
    names: dict[str, int] = {}
    paths = []
    for file in files:
        name = log_name(file)
        names[name] = names.get(name, 0) + 1
        # two of one name, from two folders
        path = folder / (name if names[name] == 1 else f"{names[name]}-{name}")
        file.save(path)
        paths.append(path)
    _all()[number] = SeveralLogs(number=number, files=tuple(sorted(paths)))
    return f"flight/several/{number}/"


def _all() -> dict[int, SeveralLogs]:
    found = current_app.extensions.setdefault(_EXTENSION, {})
    assert isinstance(found, dict)
    return found


def _find(number: int) -> SeveralLogs:
    if number not in _all():
        raise UnknownNameError(f"there are no logs {number} to look at", "drop them again")
    return _all()[number]


@several.get("/flight/several/<int:number>/")
def show(number: int) -> str:
    """Show logs that were dropped together, and what came of them."""
    logs = _find(number)
    return _page(logs, logs.fields)


@several.post("/flight/several/<int:number>/")
def reduce(number: int) -> _Answer:
    """Reduce the logs as the form says."""
    logs, store = _find(number), the_desk().store
    fields = written(request.form)
    try:
        typed = typed_in(store, fields)
        answers = new_airframe_of(store, typed)
        details = details_of(typed, None)
        if answers is None and details.airframe is None:
            raise DataError("no aircraft was chosen", "choose the one that flew all these logs")
    except FleetcalError as error:
        return _page(logs, fields, error), 400
    logs.fields = {**fields, "airframe": details.airframe or (answers.tag if answers else "")}
    work = the_desk().works.start(
        f"Reducing {len(logs.files)} logs",
        lambda work: _reduced(work, store, logs, details=details, answers=answers),
    )
    return lead_to(work)


def _reduced(
    work: LongWork,
    store: Store,
    logs: SeveralLogs,
    *,
    details: FlightDetails,
    answers: AirframeAnswers | None,
) -> str:
    work.leads_to = f"flight/several/{logs.number}/"
    change = None
    if answers is not None:
        describe_airframe(store, answers)
        change = newest_change(store, answers.tag)
        details = replace(details, airframe=answers.tag)
    logs.lines.clear()

    def tell(line: FolderLine) -> None:
        logs.lines.append(line)
        work.say(f"{len(logs.lines)} of {len(logs.files)} done: {line.file}, {line.outcome}.")

    flights = [FolderFlight(path.name, path, details) for path in logs.files]
    try:
        with own_crew(useful_processes(len(flights))) as crew:
            reduce_folder(store, flights, ReductionSettings(), crew, tell)
    finally:
        if answers is not None and change is not None and not _any_stored(logs):
            take_airframe_back(store, answers.tag, change)
            logs.fields["airframe"] = NEW
    return work.leads_to


def refusal_words(line: FolderLine) -> list[str]:
    """Return why a log was not reduced, or what is in doubt."""
    words = [line.error, line.hint] if line.error else list(line.warnings)
    return [sentence(on_a_page(one)) for one in words if one]


def _any_stored(logs: SeveralLogs) -> bool:
    return any(line.outcome == STORED for line in logs.lines)


def _page(logs: SeveralLogs, fields: dict[str, str], error: FleetcalError | None = None) -> str:
    return render(
        "desk_several.html",
        frame=frame_of(refused=refusal(error)),
        title=f"{len(logs.files)} logs",
        files=[path.name for path in logs.files],
        lines=[(line, refusal_words(line)) for line in logs.lines],
        fields=groups(the_desk().store, "which flew all these logs"),
        typed=fields,
        wrong=wrong_fields(error),
    )
