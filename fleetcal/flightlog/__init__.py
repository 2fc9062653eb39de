"""From any delimited flight log to steady legs and runs, by what the headings say."""

from fleetcal.flightlog.airspeeds import find_airspeeds
from fleetcal.flightlog.channels import track_reference
from fleetcal.flightlog.columns import ColumnChoice, understand_columns
from fleetcal.flightlog.igc import is_igc, read_igc
from fleetcal.flightlog.joined_parts import join_parts
from fleetcal.flightlog.leg_sheet import (
    LegSheet,
    SheetLeg,
    is_leg_sheet,
    read_leg_sheet,
    sheet_runs,
    summarise_sheet_leg,
)
from fleetcal.flightlog.legs import LegSpan, find_legs
from fleetcal.flightlog.manoeuvres import find_manoeuvres
from fleetcal.flightlog.mapping import (
    QUANTITIES,
    LogMapping,
    MappedColumn,
    map_columns,
    mapping_toml,
    read_mapping,
    units_for,
)
from fleetcal.flightlog.raw_table import RawTable, read_table
from fleetcal.flightlog.recording import (
    Recording,
    column_values,
    read_recording,
    read_recordings,
    recording_from_table,
    recordings_from_table,
)
from fleetcal.flightlog.runs import RunPlan, form_runs
from fleetcal.flightlog.settings import (
    AirspeedSettings,
    LegSettings,
    ManoeuvreSettings,
    RunSettings,
)
from fleetcal.flightlog.summary import LegSummary, summarise_leg
from fleetcal.flightlog.tables import any_table

__all__ = [
    "QUANTITIES",
    "AirspeedSettings",
    "ColumnChoice",
    "LegSettings",
    "LegSheet",
    "LegSpan",
    "LegSummary",
    "LogMapping",
    "ManoeuvreSettings",
    "MappedColumn",
    "RawTable",
    "Recording",
    "RunPlan",
    "RunSettings",
    "SheetLeg",
    "any_table",
    "column_values",
    "find_airspeeds",
    "find_legs",
    "find_manoeuvres",
    "form_runs",
    "is_igc",
    "is_leg_sheet",
    "join_parts",
    "map_columns",
    "mapping_toml",
    "read_igc",
    "read_leg_sheet",
    "read_mapping",
    "read_recording",
    "read_recordings",
    "read_table",
    "recording_from_table",
    "recordings_from_table",
    "sheet_runs",
    "summarise_leg",
    "summarise_sheet_leg",
    "track_reference",
    "understand_columns",
    "units_for",
]
