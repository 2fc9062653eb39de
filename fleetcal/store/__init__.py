"""The fleet's memory: what flies, what was flown, what was measured; all SQL lives here."""

from __future__ import annotations

from fleetcal.store.again import TELL
from fleetcal.store.bench_rows import (
    BenchCheckRow,
    NewBenchCheck,
    add_bench_check,
    bench_check_in_force,
    list_bench_checks,
    withdraw_check,
)
from fleetcal.store.bulk_flights import BulkFlights
from fleetcal.store.changes_since import StateMark, airframes_changed_since, state_mark
from fleetcal.store.climb_rows import (
    StoredClimb,
    add_climbs,
    count_climbs,
    is_bare_sortie,
    select_climbs,
)
from fleetcal.store.cruise_rows import (
    CruiseRow,
    PowerNote,
    forget_power,
    load_cruise_tables,
    note_powers,
    select_cruise,
)
from fleetcal.store.decisions import accept_climbs, accept_points, reject_climbs, reject_points
from fleetcal.store.description import (
    CAS,
    IAS_ON,
    PITCHES,
    AirframeDescription,
    CruiseTableDescription,
    FitDescription,
    FleetDescription,
    HandbookDescription,
    PropellerDescription,
    SaveCounts,
    StaticSourceDescription,
    TypeDescription,
)
from fleetcal.store.exchange.correct_weight import (
    WEIGHT_SUPPOSED,
    WeightCorrected,
    correct_weight,
)
from fleetcal.store.exchange.revise_description import revise_description
from fleetcal.store.explained import refusals_named
from fleetcal.store.fleet_lookup import load_description, load_types
from fleetcal.store.fleet_rows import save_description
from fleetcal.store.flown_rows import flown_near, flown_on_days
from fleetcal.store.group_counts import CountedIn, MemberCount, count_groups
from fleetcal.store.history_recording import ACT, CHANGED
from fleetcal.store.issue_rows import (
    IssueLine,
    IssueSeries,
    NewIssue,
    StoredIssue,
    add_issue,
    find_issue,
    list_issues,
    next_issue_number,
    withdraw_issue,
)
from fleetcal.store.leak_rows import (
    BarredSpan,
    LeakCheckRow,
    NewLeakCheck,
    add_leak_check,
    list_leak_checks,
)
from fleetcal.store.leg_rows import select_legs
from fleetcal.store.location import Location, locate
from fleetcal.store.log_packing import PackedLog, packed_file
from fleetcal.store.log_rows import (
    LogRow,
    broken_logs,
    drop_log,
    find_log,
    keep_log,
    list_logs,
    log_content,
)
from fleetcal.store.models import Airframe, EquipmentFit, Sortie, SourceFile
from fleetcal.store.names import find_airframe, fit_in_force, unknown_name
from fleetcal.store.new_rows import NewSortie
from fleetcal.store.point_rows import (
    KnownKappa,
    PointFilter,
    StoredPoint,
    flap_settings_flown,
    kappas_near,
    pooled_leg_scatter,
    select_points,
)
from fleetcal.store.run_numbers import runs_of_rows
from fleetcal.store.same_flight import Alike, FlownFlight, alike
from fleetcal.store.sortie_rows import add_sortie, add_source, find_source
from fleetcal.store.source_rows import SortieLine, sorties_of_source
from fleetcal.store.store import Store, open_store
from fleetcal.store.stored_flights import StoredFlight, stored_flights
from fleetcal.store.touching import Touching

__all__ = [
    "ACT",
    "CAS",
    "CHANGED",
    "IAS_ON",
    "PITCHES",
    "TELL",
    "WEIGHT_SUPPOSED",
    "Airframe",
    "AirframeDescription",
    "Alike",
    "BarredSpan",
    "BenchCheckRow",
    "BulkFlights",
    "CountedIn",
    "CruiseRow",
    "CruiseTableDescription",
    "EquipmentFit",
    "FitDescription",
    "FleetDescription",
    "FlownFlight",
    "HandbookDescription",
    "IssueLine",
    "IssueSeries",
    "KnownKappa",
    "LeakCheckRow",
    "Location",
    "LogRow",
    "MemberCount",
    "NewBenchCheck",
    "NewIssue",
    "NewLeakCheck",
    "NewSortie",
    "PackedLog",
    "PointFilter",
    "PowerNote",
    "PropellerDescription",
    "SaveCounts",
    "Sortie",
    "SortieLine",
    "SourceFile",
    "StateMark",
    "StaticSourceDescription",
    "Store",
    "StoredClimb",
    "StoredFlight",
    "StoredIssue",
    "StoredPoint",
    "Touching",
    "TypeDescription",
    "WeightCorrected",
    "accept_climbs",
    "accept_points",
    "add_bench_check",
    "add_climbs",
    "add_issue",
    "add_leak_check",
    "add_sortie",
    "add_source",
    "airframes_changed_since",
    "alike",
    "bench_check_in_force",
    "broken_logs",
    "correct_weight",
    "count_climbs",
    "count_groups",
    "drop_log",
    "find_airframe",
    "find_issue",
    "find_log",
    "find_source",
    "fit_in_force",
    "flap_settings_flown",
    "flown_near",
    "flown_on_days",
    "forget_power",
    "is_bare_sortie",
    "kappas_near",
    "keep_log",
    "list_bench_checks",
    "list_issues",
    "list_leak_checks",
    "list_logs",
    "load_cruise_tables",
    "load_description",
    "load_types",
    "locate",
    "log_content",
    "next_issue_number",
    "note_powers",
    "open_store",
    "packed_file",
    "pooled_leg_scatter",
    "refusals_named",
    "reject_climbs",
    "reject_points",
    "revise_description",
    "runs_of_rows",
    "save_description",
    "select_climbs",
    "select_cruise",
    "select_legs",
    "select_points",
    "sorties_of_source",
    "state_mark",
    "stored_flights",
    "unknown_name",
    "withdraw_check",
    "withdraw_issue",
]
