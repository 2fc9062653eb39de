"""All tables in one place: whoever needs the whole schema imports it from here."""

from __future__ import annotations

from fleetcal.store.base import Base
from fleetcal.store.bench_models import BenchCheck, BenchRow, LeakCheck
from fleetcal.store.climb_models import ClimbMeasurement
from fleetcal.store.cruise_models import CruisePower, HandbookCruise
from fleetcal.store.equipment_models import (
    AircraftEngine,
    AircraftType,
    Airframe,
    EquipmentFit,
    HandbookCurve,
    HandbookPoint,
    Propeller,
    StaticSource,
)
from fleetcal.store.exchange_models import KnownKey, ReplacedVersion
from fleetcal.store.flight_models import (
    CalibrationPoint,
    Leg,
    Sortie,
    SourceFile,
    UncertaintyTerm,
)
from fleetcal.store.history_models import ChangedRow, HistoryLink, RowState, StoreChange
from fleetcal.store.log_models import KeptLog, LogPiece
from fleetcal.store.published_models import HandbookSpeed, PublishedIssue

__all__ = [
    "AircraftEngine",
    "AircraftType",
    "Airframe",
    "Base",
    "BenchCheck",
    "BenchRow",
    "CalibrationPoint",
    "ChangedRow",
    "ClimbMeasurement",
    "CruisePower",
    "EquipmentFit",
    "HandbookCruise",
    "HandbookCurve",
    "HandbookPoint",
    "HandbookSpeed",
    "HistoryLink",
    "KeptLog",
    "KnownKey",
    "LeakCheck",
    "Leg",
    "LogPiece",
    "Propeller",
    "PublishedIssue",
    "ReplacedVersion",
    "RowState",
    "Sortie",
    "SourceFile",
    "StaticSource",
    "StoreChange",
    "UncertaintyTerm",
]
