"""What was flown joined with everything it belongs to: flight, file, airframe, equipment."""

from __future__ import annotations

from typing import Final

#: What every row of what was flown carries: its name, and the column in the joined tables.
FLOWN: Final = {
    "sortie_id": "sortie.id",
    "airframe": "airframe.tag",
    "type": "aircraft_type.name",
    "static_source": "static_source.name",
    "engine": "engine.name",
    "propeller": "propeller.name",
    "flown_on": "sortie.flown_on",
    "source_name": "source_file.name",
}


def with_equipment(rows: str, sortie_id: str) -> str:
    """Return the FROM of a query that joins rows with the flight they are of and its equipment.

    Args:
        rows: A table, or a query in brackets with its name.
        sortie_id: Column of the rows.
    """
    return f"""
        FROM {rows}
        JOIN sortie ON sortie.id = {sortie_id}
        JOIN source_file ON source_file.id = sortie.source_file_id
        JOIN airframe ON airframe.id = sortie.airframe_id
        JOIN aircraft_type ON aircraft_type.id = airframe.aircraft_type_id
        JOIN equipment_fit ON equipment_fit.id = sortie.equipment_fit_id
        JOIN static_source ON static_source.id = equipment_fit.static_source_id
        JOIN engine ON engine.id = equipment_fit.engine_id
        JOIN propeller ON propeller.id = equipment_fit.propeller_id"""
