"""What was flown joined with everything it belongs to: flight, file, airframe, equipment."""

from __future__ import annotations

from typing import Any, Final

from sqlalchemy import Select

from fleetcal.store.climb_models import ClimbMeasurement
from fleetcal.store.models import (
    AircraftEngine,
    AircraftType,
    Airframe,
    CalibrationPoint,
    EquipmentFit,
    Propeller,
    Sortie,
    SourceFile,
    StaticSource,
)

#: Names that every row of what was flown carries.
FLOWN: Final = {
    "sortie_id": Sortie.id,
    "airframe": Airframe.tag,
    "type": AircraftType.name,
    "static_source": StaticSource.name,
    "engine": AircraftEngine.name,
    "propeller": Propeller.name,
    "flown_on": Sortie.flown_on,
    "source_name": SourceFile.name,
}


def with_equipment(
    query: Select[*tuple[Any, ...]], measured: type[CalibrationPoint] | type[ClimbMeasurement]
) -> Select[*tuple[Any, ...]]:
    """Join what was measured in a sortie with the flight and its equipment.

    Args:
        measured: Points, or climbs and glides.
    """
    return rows_with_equipment(query, measured, measured.sortie_id)


def rows_with_equipment(
    query: Select[*tuple[Any, ...]], rows: Any, sortie_id: Any
) -> Select[*tuple[Any, ...]]:
    """Join rows of any table or query with the flight they are of and its equipment.

    Args:
        sortie_id: Column of the rows.
    """
    return (
        query.select_from(rows)
        .join(Sortie, Sortie.id == sortie_id)
        .join(SourceFile, SourceFile.id == Sortie.source_file_id)
        .join(Airframe, Airframe.id == Sortie.airframe_id)
        .join(AircraftType, AircraftType.id == Airframe.aircraft_type_id)
        .join(EquipmentFit, EquipmentFit.id == Sortie.equipment_fit_id)
        .join(StaticSource, StaticSource.id == EquipmentFit.static_source_id)
        .join(AircraftEngine, AircraftEngine.id == EquipmentFit.engine_id)
        .join(Propeller, Propeller.id == EquipmentFit.propeller_id)
    )
