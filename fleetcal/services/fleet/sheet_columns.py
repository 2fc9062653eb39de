"""What a fleet in a spreadsheet may say, a row for each airframe and fit, and an example.

Nothing heavy is imported here: the help must answer at once.
"""

from __future__ import annotations

from typing import Final

from fleetcal.services.table_columns import DATE, NUMBER, TEXT, table_column

#: Of an airframe's fit, of the airframe, of its type.
FIT: Final = ("static_source", "engine", "propeller", "pitot")
TYPE_NUMBERS: Final = (
    *("reference_weight_kg", "stall_speed_clean_kt", "stall_speed_landing_kt", "flap_limit_kt"),
    *("manoeuvring_speed_kt", "never_exceed_kt", "scaling_speed_kt", "wing_area_m2"),
)
_NOTES: Final = ("notes", "remark", "remarks", "comment", "comments")

COLUMNS: Final = (
    table_column(
        *("airframe", "tag", "aircraft", "airplane", "aeroplane", "aircraft tag", "airframe tag")
    ),
    table_column("type", "aircraft type", "model"),
    table_column("from", *("since", "date", "from date", "fitted", "date fitted"), kind=DATE),
    table_column("static_source", "static", "static port", "static ports", "static system"),
    table_column("engine", "engine type", "motor"),
    table_column("propeller", "prop", "propeller type", "airscrew"),
    table_column("pitch", "propeller pitch", "prop pitch"),
    table_column("pitot", "pitot tube", "pitot head"),
    table_column("fit_note", "what changed", "change"),
    table_column("registration", "reg"),
    table_column("temperature_shows", "thermometer shows", "oat shows"),
    table_column("recovery_factor", kind=NUMBER),
    table_column("note", *_NOTES),
    table_column(
        *("reference_weight_kg", "weight", "mass", "mtow", "maximum weight", "max weight"),
        *("maximum take off weight", "max take off weight", "gross weight"),
    ),
    table_column(
        *("stall_speed_clean_kt", "stall", "stall speed", "vs", "vs1", "clean stall speed"),
        *("stall speed flaps up", "stall flaps up"),
    ),
    table_column(
        *("stall_speed_landing_kt", "vs0", "vso", "landing stall speed", "stall speed flaps down"),
        *("stall flaps down", "stall landing"),
    ),
    table_column("flap_limit_kt", "vfe", "flap speed", "flap limit speed"),
    table_column("manoeuvring_speed_kt", "va", "maneuvering speed"),
    table_column("never_exceed_kt", "vne", "never exceed speed"),
    table_column("scaling_speed_kt"),
    table_column("wing_area_m2", "wing area", "wing area m", kind=NUMBER),
    table_column("speeds_are", kind=TEXT),
)

#: A sheet to start from, of an invented fleet; C-07 got another engine.
TEMPLATE: Final = (
    "airframe,type,from,static source,engine,propeller,stall speed (kt),weight (kg),Vne (kt)\n"
    "C-07,Corrie 2,2019-05-01,wing boom,75 kW four,two-blade fixed,45,600,139\n"
    "C-07,,2024-03-15,,100 kW turbo four,,,,\n"
    "C-12,Corrie 2,2020-06-01,tail-boom flush pair,75 kW four,two-blade fixed,,,\n"
)
