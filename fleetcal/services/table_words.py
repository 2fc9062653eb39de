"""Everyday headings of the columns that several tables have."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from fleetcal.services.table_columns import DATE, NUMBER, KnownColumn, table_column

_DAY: Final = ("day", "date", "flight date", "date flown", "flown", "day of flight")
_OPPOSITE: Final = (
    "an error and a correction have opposite signs: head the column 'correction' and turn the "
    "sign of every cell, so that reading + correction is right"
)
#: An error looks like a correction and has the other sign.
ERRORS: Final = dict.fromkeys(
    ("error", "ias error", "airspeed error", "position error", "altimeter error", "asi error"),
    _OPPOSITE,
)
_WORDS: Final[dict[str, tuple[str, ...]]] = {
    "airframe": (
        *("tag", "registration", "reg", "aircraft", "airplane", "aeroplane", "plane"),
        *(
            "aircraft reg",
            "tail number",
            "tail no",
            "aircraft tag",
            "aircraft registration",
            "airframe tag",
        ),
    ),
    "flown_on": _DAY,
    "date": _DAY,
    "sortie": ("flight", "flight number", "flight no", "sortie number", "sortie no"),
    "weight_kg": (
        *("weight", "wt", "mass", "gross weight", "gross mass", "all up weight", "auw"),
        *("flying weight", "weight flown"),
    ),
    "takeoff_weight_kg": ("take off weight", "t/o weight", "take off mass", "takeoff mass", "tow"),
    "fuel_used_kg_per_h": ("fuel flow", "fuel used", "fuel burn", "fuel burnt", "fuel consumption"),
    "ias_kt": ("airspeed", "indicated", "indicated airspeed", "asi", "ias reading"),
    "cas_kt": ("calibrated", "calibrated airspeed", "rectified airspeed"),
    "tas_kt": ("true airspeed",),
    "pressure_altitude_ft": ("altitude", "altimeter", "palt", "altitude at 1013"),
    "oat_degc": ("temperature", "air temperature", "outside air temperature", "outside temp"),
    "humidity_pct": ("relative humidity", "rh"),
    "dew_point_degc": ("dewpoint",),
    "flap_setting": ("flap", "flaps", "flap position", "flaps setting"),
    "note": ("notes", "remark", "remarks", "comment", "comments"),
    "technique": ("method", "measured by"),
    "accepted": ("accept", "ok"),
    "reason": ("why", "why not"),
    "wind_speed_kt": ("wind",),
    "wind_from_deg": ("wind direction", "wind dir", "wind from"),
    "leg_count": ("legs", "number of legs"),
    "duration_s": ("how long",),
    "degrees_of_freedom": ("dof", "freedom"),
    "dvpc_kt": (
        *("correction", "corr", "airspeed correction", "ias correction", "speed correction"),
        *("position correction", "position error correction", "pec", "asi correction"),
    ),
    "u_dvpc_kt": (
        *(
            "u",
            "uncertainty",
            "uncert",
            "standard uncertainty",
            "u correction",
            "correction uncertainty",
        ),
        *("uncertainty of correction", "standard deviation", "sd", "sigma"),
    ),
    "dhpc_ft": ("altitude correction", "height correction", "altimeter correction"),
    "u_dhpc_ft": ("altitude correction uncertainty", "u altitude correction"),
    "point": ("point number", "point no", "test point", "id"),
    "power_pct": ("percent power", "power percent"),
    "u_power_pct": ("uncertainty", "power uncertainty", "uncertainty of power"),
    "file": ("log", "file name", "filename", "log file", "recording"),
    "start_s": ("start", "begin", "from", "start time"),
    "stop_s": ("stop", "end", "until", "end time", "stop time", "finish"),
    "run": ("run number", "run no"),
    "leg": ("leg number", "leg no"),
    "speed": ("name", "speed name", "what", "which speed"),
    "distance_m": ("distance", "length", "course length", "length of course"),
    "time_out_s": ("out", "out time", "outbound", "outbound time"),
    "time_back_s": ("back", "back time", "inbound", "inbound time", "return time"),
    "pace_ias_kt": ("pace airspeed", "pace aircraft ias", "pace aircraft airspeed"),
    "pace_correction_kt": ("pace aircraft correction", "correction of pace aircraft"),
    "pace_pressure_altitude_ft": ("pace altitude", "pace aircraft altitude"),
    "reference_pressure_hpa": ("tower pressure", "pressure", "barometer"),
    "reference_temperature_degc": ("tower temperature",),
    "height_m": ("height above reference",),
    "height_ft": ("height above reference",),
    "ambient_degc": ("ambient temperature", "corrected temperature"),
}
_OTHER_SPEEDS: Final = dict.fromkeys(
    ("cas", "calibrated airspeed", "true ias", "corrected airspeed"),
    "give what is added to IAS to make CAS, CAS - IAS, in a column headed 'correction'",
)
_EXPANDED: Final = dict.fromkeys(
    ("u95", "95", "uncertainty 95", "u 95", "expanded uncertainty", "2 sigma"),
    "give one standard uncertainty, half of that at 95 %, in a column headed 'uncertainty'",
)
_NOT_THIS: Final = {"dvpc_kt": ERRORS | _OTHER_SPEEDS, "u_dvpc_kt": _EXPANDED}
_DATES: Final = frozenset({"flown_on", "date"})
_NUMBERS: Final = frozenset(
    {"kappa", "u_kappa", "leg_count", "degrees_of_freedom", "run", "leg", "samples"}
    | {"u_shared_kappa", "u_airframe_kappa", "u_fleet_kappa", "recovery_factor"}
)


def columns_named(names: Iterable[str], **words: tuple[str, ...]) -> tuple[KnownColumn, ...]:
    """Return columns by their exact headings.

    Args:
        words: By exact heading, everyday headings in the place of the usual ones.
    """
    return tuple(
        table_column(
            name,
            *words.get(name, _WORDS.get(name, ())),
            kind=DATE if name in _DATES else NUMBER if name in _NUMBERS else "",
            not_this=_NOT_THIS.get(name),
        )
        for name in names
    )
