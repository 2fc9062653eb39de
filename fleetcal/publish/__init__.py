"""Tables, figures and pages from plain results; knows neither store nor statistics."""

from __future__ import annotations

from fleetcal.publish.cautions import CAUTIONS, PITOT_ASSUMPTION, SHORT_CAUTION
from fleetcal.publish.figure import correction_figure_svg
from fleetcal.publish.flight_figure import flight_figure
from fleetcal.publish.flight_picture import (
    FlightHistory,
    FlightPicture,
    PicturedLeg,
    PicturedRun,
)
from fleetcal.publish.page import table_html
from fleetcal.publish.plain_text import file_stem, harmless_cell
from fleetcal.publish.pooled_table import PlottedPoint, PooledTable, TableRow
from fleetcal.publish.published_files import PublishedFiles, group_file_stem, publish_table
from fleetcal.publish.table_csv import CSV_COLUMNS, table_csv
from fleetcal.publish.whole_file import write_file_whole

__all__ = [
    "CAUTIONS",
    "CSV_COLUMNS",
    "PITOT_ASSUMPTION",
    "SHORT_CAUTION",
    "FlightHistory",
    "FlightPicture",
    "PicturedLeg",
    "PicturedRun",
    "PlottedPoint",
    "PooledTable",
    "PublishedFiles",
    "TableRow",
    "correction_figure_svg",
    "file_stem",
    "flight_figure",
    "group_file_stem",
    "harmless_cell",
    "publish_table",
    "table_csv",
    "table_html",
    "write_file_whole",
]
