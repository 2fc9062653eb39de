"""The fleet's memory: what flies, what was flown, what was measured; all SQL lives here.

Names are loaded when they are first used, and functions when they are first called: whoever reads
a list waits for nothing that writes, nor for SQLAlchemy, which takes longer than the answer.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any, Final

if TYPE_CHECKING:
    from fleetcal.store.acts import ACT as ACT
    from fleetcal.store.acts import CHANGED as CHANGED
    from fleetcal.store.acts import TELL as TELL
    from fleetcal.store.airframe_lookup import find_airframe as find_airframe
    from fleetcal.store.airframe_lookup import fit_in_force as fit_in_force
    from fleetcal.store.bench_rows import BenchCheckRow as BenchCheckRow
    from fleetcal.store.bench_rows import NewBenchCheck as NewBenchCheck
    from fleetcal.store.bench_rows import bench_check_in_force as bench_check_in_force
    from fleetcal.store.bench_rows import list_bench_checks as list_bench_checks
    from fleetcal.store.bulk_flights import BulkFlights as BulkFlights
    from fleetcal.store.changes_since import StateMark as StateMark
    from fleetcal.store.changes_since import airframes_changed_since as airframes_changed_since
    from fleetcal.store.changes_since import state_mark as state_mark
    from fleetcal.store.climb_rows import StoredClimb as StoredClimb
    from fleetcal.store.climb_rows import select_climbs as select_climbs
    from fleetcal.store.cruise_notes import CruiseRow as CruiseRow
    from fleetcal.store.cruise_notes import PowerNote as PowerNote
    from fleetcal.store.cruise_rows import forget_power as forget_power
    from fleetcal.store.cruise_rows import load_cruise_tables as load_cruise_tables
    from fleetcal.store.cruise_rows import note_powers as note_powers
    from fleetcal.store.cruise_rows import select_cruise as select_cruise
    from fleetcal.store.decisions import accept_climbs as accept_climbs
    from fleetcal.store.decisions import accept_points as accept_points
    from fleetcal.store.decisions import reject_climbs as reject_climbs
    from fleetcal.store.decisions import reject_points as reject_points
    from fleetcal.store.description import CAS as CAS
    from fleetcal.store.description import IAS_ON as IAS_ON
    from fleetcal.store.description import PITCHES as PITCHES
    from fleetcal.store.description import AirframeDescription as AirframeDescription
    from fleetcal.store.description import CruiseTableDescription as CruiseTableDescription
    from fleetcal.store.description import FitDescription as FitDescription
    from fleetcal.store.description import FleetDescription as FleetDescription
    from fleetcal.store.description import HandbookDescription as HandbookDescription
    from fleetcal.store.description import PropellerDescription as PropellerDescription
    from fleetcal.store.description import SaveCounts as SaveCounts
    from fleetcal.store.description import StaticSourceDescription as StaticSourceDescription
    from fleetcal.store.description import TypeDescription as TypeDescription
    from fleetcal.store.enter_checks import add_bench_check as add_bench_check
    from fleetcal.store.enter_checks import add_leak_check as add_leak_check
    from fleetcal.store.enter_checks import withdraw_check as withdraw_check
    from fleetcal.store.enter_climbs import add_climbs as add_climbs
    from fleetcal.store.enter_climbs import count_climbs as count_climbs
    from fleetcal.store.enter_climbs import is_bare_sortie as is_bare_sortie
    from fleetcal.store.exchange.correct_weight import correct_weight as correct_weight
    from fleetcal.store.exchange.revise_description import revise_description as revise_description
    from fleetcal.store.explained import refusals_named as refusals_named
    from fleetcal.store.fleet_lookup import load_description as load_description
    from fleetcal.store.fleet_lookup import load_types as load_types
    from fleetcal.store.fleet_rows import save_description as save_description
    from fleetcal.store.flown_rows import flown_near as flown_near
    from fleetcal.store.flown_rows import flown_on_days as flown_on_days
    from fleetcal.store.group_counts import CountedIn as CountedIn
    from fleetcal.store.group_counts import MemberCount as MemberCount
    from fleetcal.store.group_counts import count_groups as count_groups
    from fleetcal.store.issue_lines import IssueLine as IssueLine
    from fleetcal.store.issue_lines import IssueSeries as IssueSeries
    from fleetcal.store.issue_lines import NewIssue as NewIssue
    from fleetcal.store.issue_lines import StoredIssue as StoredIssue
    from fleetcal.store.issue_rows import add_issue as add_issue
    from fleetcal.store.issue_rows import find_issue as find_issue
    from fleetcal.store.issue_rows import list_issues as list_issues
    from fleetcal.store.issue_rows import next_issue_number as next_issue_number
    from fleetcal.store.issue_rows import withdraw_issue as withdraw_issue
    from fleetcal.store.leak_rows import BarredSpan as BarredSpan
    from fleetcal.store.leak_rows import LeakCheckRow as LeakCheckRow
    from fleetcal.store.leak_rows import NewLeakCheck as NewLeakCheck
    from fleetcal.store.leak_rows import list_leak_checks as list_leak_checks
    from fleetcal.store.leg_rows import select_legs as select_legs
    from fleetcal.store.listed import WEIGHT_SUPPOSED as WEIGHT_SUPPOSED
    from fleetcal.store.listed import LogRow as LogRow
    from fleetcal.store.listed import SortieLine as SortieLine
    from fleetcal.store.listed import StoredFlight as StoredFlight
    from fleetcal.store.listed import WeightCorrected as WeightCorrected
    from fleetcal.store.location import Location as Location
    from fleetcal.store.location import locate as locate
    from fleetcal.store.log_packing import PackedLog as PackedLog
    from fleetcal.store.log_packing import packed_file as packed_file
    from fleetcal.store.log_rows import broken_logs as broken_logs
    from fleetcal.store.log_rows import drop_log as drop_log
    from fleetcal.store.log_rows import find_log as find_log
    from fleetcal.store.log_rows import keep_log as keep_log
    from fleetcal.store.log_rows import list_logs as list_logs
    from fleetcal.store.log_rows import log_content as log_content
    from fleetcal.store.models import Airframe as Airframe
    from fleetcal.store.models import EquipmentFit as EquipmentFit
    from fleetcal.store.models import Sortie as Sortie
    from fleetcal.store.models import SourceFile as SourceFile
    from fleetcal.store.names import type_of_airframe as type_of_airframe
    from fleetcal.store.names import unknown_name as unknown_name
    from fleetcal.store.new_rows import NewSortie as NewSortie
    from fleetcal.store.plain_reads import Reader as Reader
    from fleetcal.store.point_rows import KnownKappa as KnownKappa
    from fleetcal.store.point_rows import PointFilter as PointFilter
    from fleetcal.store.point_rows import StoredPoint as StoredPoint
    from fleetcal.store.point_rows import flap_settings_flown as flap_settings_flown
    from fleetcal.store.point_rows import kappas_near as kappas_near
    from fleetcal.store.point_rows import pooled_leg_scatter as pooled_leg_scatter
    from fleetcal.store.point_rows import select_points as select_points
    from fleetcal.store.reduced_flights import stored_flights as stored_flights
    from fleetcal.store.run_numbers import runs_of_rows as runs_of_rows
    from fleetcal.store.same_flight import Alike as Alike
    from fleetcal.store.same_flight import FlownFlight as FlownFlight
    from fleetcal.store.same_flight import alike as alike
    from fleetcal.store.sortie_rows import add_sortie as add_sortie
    from fleetcal.store.sortie_rows import add_source as add_source
    from fleetcal.store.sortie_rows import find_source as find_source
    from fleetcal.store.source_rows import sorties_of_source as sorties_of_source
    from fleetcal.store.store import Store as Store
    from fleetcal.store.store import open_store as open_store
    from fleetcal.store.touching import Touching as Touching

_HOMES: Final = {
    "acts": "ACT CHANGED TELL",
    "airframe_lookup": "find_airframe fit_in_force",
    "bench_rows": "BenchCheckRow NewBenchCheck bench_check_in_force list_bench_checks",
    "bulk_flights": "BulkFlights",
    "changes_since": "StateMark airframes_changed_since state_mark",
    "climb_rows": "StoredClimb select_climbs",
    "cruise_notes": "CruiseRow PowerNote",
    "cruise_rows": "forget_power load_cruise_tables note_powers select_cruise",
    "decisions": "accept_climbs accept_points reject_climbs reject_points",
    "description": (
        "AirframeDescription CAS CruiseTableDescription FitDescription FleetDescription "
        "HandbookDescription IAS_ON PITCHES PropellerDescription SaveCounts "
        "StaticSourceDescription TypeDescription"
    ),
    "enter_checks": "add_bench_check add_leak_check withdraw_check",
    "enter_climbs": "add_climbs count_climbs is_bare_sortie",
    "exchange.correct_weight": "correct_weight",
    "exchange.revise_description": "revise_description",
    "explained": "refusals_named",
    "fleet_lookup": "load_description load_types",
    "fleet_rows": "save_description",
    "flown_rows": "flown_near flown_on_days",
    "group_counts": "CountedIn MemberCount count_groups",
    "issue_lines": "IssueLine IssueSeries NewIssue StoredIssue",
    "issue_rows": "add_issue find_issue list_issues next_issue_number withdraw_issue",
    "leak_rows": "BarredSpan LeakCheckRow NewLeakCheck list_leak_checks",
    "leg_rows": "select_legs",
    "listed": "LogRow SortieLine StoredFlight WEIGHT_SUPPOSED WeightCorrected",
    "location": "Location locate",
    "log_packing": "PackedLog packed_file",
    "log_rows": "broken_logs drop_log find_log keep_log list_logs log_content",
    "models": "Airframe EquipmentFit Sortie SourceFile",
    "names": "type_of_airframe unknown_name",
    "new_rows": "NewSortie",
    "plain_reads": "Reader",
    "point_rows": (
        "KnownKappa PointFilter StoredPoint flap_settings_flown kappas_near "
        "pooled_leg_scatter select_points"
    ),
    "reduced_flights": "stored_flights",
    "run_numbers": "runs_of_rows",
    "same_flight": "Alike FlownFlight alike",
    "sortie_rows": "add_sortie add_source find_source",
    "source_rows": "sorties_of_source",
    "store": "Store open_store",
    "touching": "Touching",
}
_HOME_OF: Final = {name: home for home, names in _HOMES.items() for name in names.split()}

if not TYPE_CHECKING:  # to a checker every name would be there

    def __getattr__(name: str) -> Any:
        if name not in _HOME_OF:
            raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
        home = f"{__name__}.{_HOME_OF[name]}"
        found = _loaded_when_called(home, name) if name.islower() else _found(home, name)
        globals()[name] = found
        return found


def _found(home: str, name: str) -> Any:
    return getattr(import_module(home), name)


def _loaded_when_called(home: str, name: str) -> Any:
    """Return a function that loads the one it stands for when it is called."""

    def called(*args: Any, **named: Any) -> Any:
        return _found(home, name)(*args, **named)

    called.__name__ = called.__qualname__ = name
    called.__doc__ = f"See `{home}.{name}`."
    return called


def __dir__() -> list[str]:
    return sorted(_HOME_OF)
