"""Tables, figures and pages from plain results; knows neither store nor statistics."""

from __future__ import annotations

from fleetcal.publish.cautions import (
    CAUTIONS,
    CRUISE_ASSUMPTION,
    CURVE_ASSUMPTION,
    LIMIT_CAUTION,
    PITOT_ASSUMPTION,
    RATE_ASSUMPTION,
    SHORT_CAUTION,
)
from fleetcal.publish.figure import correction_figure_svg
from fleetcal.publish.flight_figure import flight_figure
from fleetcal.publish.flight_picture import (
    FlightHistory,
    FlightPicture,
    PicturedLeg,
    PicturedRun,
)
from fleetcal.publish.issue_mark import IssueMark
from fleetcal.publish.page import table_html
from fleetcal.publish.pooled_table import PlottedPoint, PooledTable
from fleetcal.publish.published_files import (
    FORMATS,
    PublishedFile,
    chosen_formats,
    contents_waiting,
    group_file_stem,
    publish_table,
    table_contents,
    write_contents,
)
from fleetcal.publish.table_card import table_card
from fleetcal.publish.table_csv import CSV_COLUMNS, csv_columns, table_csv
from fleetcal.publish.table_form import CAS_TO_IAS, DIRECTIONS, IAS_TO_CAS, SPEED_UNITS, TableForm
from fleetcal.publish.table_json import table_json
from fleetcal.publish.table_limit import TableLimit
from fleetcal.publish.table_lines import TableLine, table_lines
from fleetcal.publish.table_markdown import table_markdown
from fleetcal.publish.table_pdf import table_pdf
from fleetcal.publish.table_record import canonical_json, table_from_record, table_record
from fleetcal.publish.table_row import ReadingRow, TableRow

__all__ = [
    "CAS_TO_IAS",
    "CAUTIONS",
    "CRUISE_ASSUMPTION",
    "CSV_COLUMNS",
    "CURVE_ASSUMPTION",
    "DIRECTIONS",
    "FORMATS",
    "IAS_TO_CAS",
    "LIMIT_CAUTION",
    "PITOT_ASSUMPTION",
    "RATE_ASSUMPTION",
    "SHORT_CAUTION",
    "SPEED_UNITS",
    "FlightHistory",
    "FlightPicture",
    "IssueMark",
    "PicturedLeg",
    "PicturedRun",
    "PlottedPoint",
    "PooledTable",
    "PublishedFile",
    "ReadingRow",
    "TableForm",
    "TableLimit",
    "TableLine",
    "TableRow",
    "canonical_json",
    "chosen_formats",
    "contents_waiting",
    "correction_figure_svg",
    "csv_columns",
    "flight_figure",
    "group_file_stem",
    "publish_table",
    "table_card",
    "table_contents",
    "table_csv",
    "table_from_record",
    "table_html",
    "table_json",
    "table_lines",
    "table_markdown",
    "table_pdf",
    "table_record",
    "write_contents",
]
