"""Which quantity the words of a heading mean."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from fleetcal.flightlog.headings import Heading

# words that make a column something else than a reading of this aircraft's air data or track
_ELSEWHERE: Final = frozenset(
    {
        "selected",
        "wind",
        "gust",
        "cabin",
        "oil",
        "coolant",
        "cht",
        "egt",
        "tit",
        "itt",
        "carburettor",
        "carburetor",
        "carb",
        "manifold",
        "map",
        "engine",
        "eng",
        "fuel",
        "hydraulic",
        "battery",
        "deviation",
        "dev",
        "error",
        "err",
        "cross",
        "xtk",
        "limit",
        "max",
        "min",
        "sd",
        "sigma",
        "stdev",
        "uncertainty",
        "accuracy",
        "precision",
        "dop",
        "hdop",
        "vdop",
        "flag",
        "valid",
        "validity",
        "status",
        "waypoint",
        "wpt",
        "nav",
        "autopilot",
        "ap",
        "variation",
        "declination",
        "density",
        "dew",
        "virtual",
        "potential",
        "internal",
        "humidity",
        "acceleration",
        "accel",
        "acc",
        "lateral",
        "target",
        "stall",
        "margin",
        "trend",
        "radar",
        "radio",
        "agl",
        "computer",
        "board",
    }
)


@dataclass(frozen=True)
class QuantityMatch:
    """What a heading means and how plainly it says so.

    Attributes:
        quantity: Name of the quantity.
        kind: Kind of unit: speed, length, pressure, temperature, angle, time, flow, fuel, percent,
            plain or text.
        confidence: 1 for a full name; less where a word is lacking.
    """

    quantity: str
    kind: str
    confidence: float


@dataclass(frozen=True, kw_only=True)
class _Rule:
    quantity: str
    kind: str
    needed: frozenset[str]
    confidence: float = 1.0
    barred: frozenset[str] = frozenset()
    only: bool = False


def _rule(
    quantity: str, kind: str, needed: str, confidence: float = 1.0, barred: str = "", only: int = 0
) -> _Rule:
    return _Rule(
        quantity=quantity,
        kind=kind,
        needed=frozenset(needed.split()),
        confidence=confidence,
        barred=frozenset(barred.split()),
        only=bool(only),
    )


# what is no satellite height, but beside it
_NO_ALTITUDE: Final = "baro pressure separation rate std dilution ground terrain angle mask"
# the first rule that fits decides, so the narrower stand before the wider
_RULES: Final = (
    _rule("indicated_airspeed", "speed", "indicated airspeed"),
    _rule("calibrated_airspeed", "speed", "calibrated airspeed"),
    _rule("equivalent_airspeed", "speed", "equivalent airspeed"),
    _rule("true_airspeed", "speed", "true airspeed"),
    _rule("indicated_airspeed", "speed", "airspeed", 0.6, "vertical ground"),
    _rule("vertical_speed", "speed", "vertical speed"),
    _rule("vertical_speed", "speed", "rate climb"),
    _rule("vertical_speed", "speed", "climb", 0.6, "angle"),
    _rule("vertical_speed", "speed", "vertical", 0.4, "angle"),
    _rule("ground_speed", "speed", "ground speed", 1.0, "north east"),
    _rule("ground_speed", "speed", "gps speed", 0.9, "north east"),
    _rule("ground_speed", "speed", "over ground speed"),
    _rule("track", "angle", "track", 1.0, "rate angle heading"),
    _rule("track", "angle", "course ground", 0.9, "rate"),
    _rule("track", "angle", "course gps", 0.9, "rate"),
    _rule("track", "angle", "course over", 0.9, "rate"),
    _rule("heading", "angle", "heading", 1.0, "rate gyro"),
    _rule("roll", "angle", "roll", 1.0, "rate"),
    _rule("altimeter_setting", "pressure", "altimeter setting"),
    _rule("gps_altitude", "length", "gps altitude", 1.0, _NO_ALTITUDE),
    _rule("gps_altitude", "length", "gps elevation", 0.9, _NO_ALTITUDE),
    _rule("gps_altitude", "length", "altitude above geoid", 0.9, _NO_ALTITUDE),
    _rule("gps_altitude", "length", "altitude above sea", 0.8, _NO_ALTITUDE),
    _rule("pressure_altitude", "length", "pressure altitude", 1.0, "corrected"),
    _rule("pressure_altitude", "length", "standard altitude", 0.9),
    _rule("pressure_altitude", "length", "1013 altitude", 0.9),
    _rule("baro_altitude", "length", "baro altitude"),
    _rule("baro_altitude", "length", "indicated altitude", 0.9),
    _rule("baro_altitude", "length", "corrected altitude", 0.7),
    _rule("static_pressure", "pressure", "static pressure", 1.0, "altitude temperature"),
    _rule("impact_pressure", "pressure", "impact pressure", 1.0, "altitude temperature"),
    _rule("impact_pressure", "pressure", "pitot pressure", 0.6, "total altitude temperature"),
    _rule("total_temperature", "temperature", "total temperature"),
    _rule("static_temperature", "temperature", "static temperature", 1.0, "altitude"),
    _rule("probe_temperature", "temperature", "outside temperature"),
    _rule("probe_temperature", "temperature", "probe temperature", 0.9),
    _rule("probe_temperature", "temperature", "air temperature", 0.8, "inlet intake"),
    _rule("probe_temperature", "temperature", "temperature", 0.5, only=1),
    _rule("mach", "plain", "mach"),
    _rule("latitude", "angle", "latitude"),
    _rule("longitude", "angle", "longitude"),
    _rule("flap_setting", "text", "flap"),
    _rule("run", "text", "run", 1.0, "time"),
    _rule("run", "text", "group", 0.5, only=1),
    _rule("leg", "text", "leg", 1.0, "time"),
    _rule("utc_offset", "time", "utc offset"),
    _rule("utc_offset", "time", "time offset", 0.8),
    _rule("clock", "time", "date", 1.0),
    _rule("clock", "time", "time", 1.0, "remaining flight block to"),
    _rule("clock", "time", "epoch", 0.9),
    _rule("clock", "time", "seconds", 0.9),
    _rule("clock", "time", "elapsed", 0.8),
    _rule("clock", "time", "utc", 0.8),
)
# fuel is looked at before the words that make a column something of the engine
_FUEL_RULES: Final = (
    _rule("fuel_flow", "flow", "fuel flow", 1.0, "left right selected limit min max total"),
    _rule("fuel_quantity", "fuel", "fuel quantity", 1.0, "left right selected limit min max"),
)
# likewise the humidity, which makes a column no temperature of the air
_HUMIDITY_RULES: Final = (
    _rule("dew_point", "temperature", "dew"),
    _rule("relative_humidity", "percent", "relative humidity"),
    _rule("relative_humidity", "percent", "humidity", 0.9),
    _rule("relative_humidity", "percent", "rh", 0.9),
)
#: Kind of unit of every quantity that a column can hold.
KINDS: Final = {rule.quantity: rule.kind for rule in (*_FUEL_RULES, *_HUMIDITY_RULES, *_RULES)}
_OF_THE_AIR: Final = frozenset({"outside", "air", "static", "point", "temperature", "rel"})
_UNIT_WORDS: Final = frozenset({"deg", "degc", "c", "f", "k", "kt", "ft", "m", "2", "1", "s"})


def match_quantity(heading: Heading) -> QuantityMatch | None:
    """Tell which quantity a heading names.

    Returns:
        None if the heading is none of the quantities that matter here, or belongs to something else
        (a selected value, wind, an engine, a limit).
    """
    words = heading.words
    for rule in _FUEL_RULES:
        if rule.needed <= words and not rule.barred & words:
            return QuantityMatch(rule.quantity, rule.kind, rule.confidence)
    for rule in _HUMIDITY_RULES:
        if rule.needed <= words and not words - rule.needed - _OF_THE_AIR - _UNIT_WORDS:
            return QuantityMatch(rule.quantity, rule.kind, rule.confidence)
    if words & _ELSEWHERE:
        return None
    for rule in _RULES:
        if not rule.needed <= words or rule.barred & words:
            continue
        if rule.only and words - rule.needed - _UNIT_WORDS:
            continue
        return QuantityMatch(rule.quantity, rule.kind, rule.confidence)
    return None
