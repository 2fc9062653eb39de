"""Look at a table as it would be published, and take its files along."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Final

from flask import Blueprint, request
from werkzeug.wrappers import Response

from fleetcal.errors import FleetcalError, ImplausibleError
from fleetcal.publish.page import table_values
from fleetcal.publish.pooled_table import PooledTable
from fleetcal.publish.published_files import FORMATS
from fleetcal.publish.site.curve_figure import CurveFigure, curve_figure
from fleetcal.services.publishing.publish_curve import publish_curve, table_to_publish
from fleetcal.web.acting import refused, shown
from fleetcal.web.fields import read_fields
from fleetcal.web.files import attachment, private_folder
from fleetcal.web.shown import the_desk
from fleetcal.web.table_form import TABLE_START, request_of, table_form, table_query

act_publish = Blueprint("act_publish", __name__)
#: By format: what it is for, in words.
_FILES: Final = {
    "html": "Page that needs no network",
    "pdf": "PDF",
    "card": "Card for the cockpit, PDF",
    "csv": "CSV",
    "json": "JSON",
    "markdown": "Markdown",
    "svg": "Figure, SVG",
}


@act_publish.get("/publish")
def preview() -> Response | str:
    """Show a table as it would be published."""
    act, given = table_form(), request.args
    if not given.get("group"):
        return shown(act, {**TABLE_START, **given}, method="get")
    try:
        chosen, layout = request_of(read_fields(act.fields, given))
        name, table = table_to_publish(the_desk().store, chosen, date.today(), layout)
    except FleetcalError as error:
        if set(given) <= {"group", "type", "flaps"}:  # a link, and not yet a form
            return shown(act, {**TABLE_START, **given}, error=error, method="get")
        return refused(act, given, error, method="get")
    return shown(
        act,
        {**TABLE_START, **given},
        method="get",
        group=name,
        table=table_values(table),
        figure=_figure(table),
        of_one=table.airframe is not None,
        files=[(_FILES[one], f"publish/file?{table_query()}&format={one}") for one in _FILES],
        issue=f"issues/make?{table_query()}",
        of_series=table_query(),
    )


@act_publish.get("/publish/file")
def file() -> Response | str:
    """Send one file of a table."""
    act, name = table_form(), request.args.get("format", "")
    try:
        if name not in FORMATS:
            raise ImplausibleError(f"unknown format {name!r}", f"formats: {', '.join(FORMATS)}")
        chosen, layout = request_of(read_fields(act.fields, request.args), (name,))
        with private_folder() as folder:
            done = publish_curve(the_desk().store, chosen, folder, date.today(), layout)
            return attachment(Path(done.files[0].path))
    except FleetcalError as error:
        return refused(act, request.args, error, method="get")


def _figure(table: PooledTable) -> str:
    own = table.airframe is not None
    shown_curve = CurveFigure(
        table=replace(table, allowed=()) if own else table,
        points=table.points,
        marked=frozenset(),
        caption="Above the zero line the indicator shows too little, below it too much. Each "
        "point is one measurement with its standard uncertainty.",
    )
    return curve_figure("table-figure", shown_curve)
