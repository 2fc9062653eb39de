"""How units are spelt in headings, and which unit is meant for which kind of quantity."""

from __future__ import annotations

import re
from functools import lru_cache
from typing import Final

# kind of quantity -> spelling (lower case, no blanks, dots or degree signs) -> name in units.TO_SI
_SPELLINGS: Final[dict[str, dict[str, str]]] = {
    "speed": {
        **dict.fromkeys(("kt", "kts", "kn", "knot", "knots", "kias", "ktas", "kcas", "kgs"), "kt"),
        **dict.fromkeys(("mph", "mi/h", "miles/h", "miles/hour", "milesperhour"), "mph"),
        **dict.fromkeys(("km/h", "kmh", "kph", "km/hr", "kmph", "km/hour", "kmh-1"), "km/h"),
        **dict.fromkeys(("m/s", "mps", "m/sec", "ms", "ms-1", "ms^-1", "ms**-1"), "m/s"),
        **dict.fromkeys(("meters/second", "metres/second", "meterspersecond"), "m/s"),
        **dict.fromkeys(("ft/min", "fpm", "feet/min", "feet/minute", "ft/minute"), "ft/min"),
    },
    "length": {
        **dict.fromkeys(("m", "meter", "meters", "metre", "metres", "mtr"), "m"),
        **dict.fromkeys(("ft", "feet", "foot"), "ft"),
        "km": "km",
    },
    "pressure": {
        **dict.fromkeys(("hpa", "mbar", "mb", "millibar", "millibars", "mbars"), "hPa"),
        **dict.fromkeys(("pa", "pascal", "pascals"), "Pa"),
        "kpa": "kPa",
        **dict.fromkeys(("inhg", "inch", "inches", "in", "incheshg", "inchhg", "in-hg"), "inHg"),
        "psi": "psi",
    },
    "temperature": {
        **dict.fromkeys(("c", "degc", "degreec", "degreesc", "celsius", "degcelsius"), "degC"),
        **dict.fromkeys(("deg", "degree", "degrees", "degreescelsius", "degreecelsius"), "degC"),
        **dict.fromkeys(
            ("f", "degf", "degreef", "degreesf", "fahrenheit", "degfahrenheit"), "degF"
        ),
        **dict.fromkeys(("k", "kelvin", "degk"), "K"),
    },
    "angle": {
        **dict.fromkeys(("deg", "degs", "degree", "degrees", "degt", "degm"), "deg"),
        **dict.fromkeys(("degtrue", "degmag", "degmagnetic", "degreestrue", "truedeg"), "deg"),
        **dict.fromkeys(("degreen", "degreee", "degreesn", "degreese"), "deg"),
        **dict.fromkeys(("degreesnorth", "degreeseast", "degreenorth", "degreeeast"), "deg"),
        **dict.fromkeys(("degn", "dege"), "deg"),
        **dict.fromkeys(("rad", "rads", "radian", "radians"), "rad"),
    },
    "time": {
        **dict.fromkeys(("s", "sec", "secs", "second", "seconds"), "s"),
        **dict.fromkeys(("us", "microsecond", "microseconds"), "us"),
        **dict.fromkeys(("ms", "msec", "millisecond", "milliseconds"), "ms"),
        **dict.fromkeys(("min", "mins", "minute", "minutes"), "min"),
        **dict.fromkeys(("h", "hr", "hrs", "hour", "hours"), "h"),
    },
    "flow": {
        **dict.fromkeys(("kg/h", "kgh", "kg/hr", "kgph", "kg/hour"), "kg/h"),
        **dict.fromkeys(("lb/h", "lbs/h", "pph", "lb/hr", "lbs/hr", "lb/hour", "lbsh"), "lb/h"),
        **dict.fromkeys(("l/h", "lph", "l/hr", "ltr/h", "litres/h", "liters/h", "l/hour"), "l/h"),
        **dict.fromkeys(("litres/hour", "liters/hour", "lh"), "l/h"),
        **dict.fromkeys(("gal/h", "gph", "gal/hr", "usgph", "usgal/h", "gallons/hour"), "gal/h"),
    },
    "fuel": {
        **dict.fromkeys(("kg", "kgs", "kilogram", "kilograms"), "kg"),
        **dict.fromkeys(("lb", "lbs", "pound", "pounds"), "lb"),
        **dict.fromkeys(("l", "ltr", "litre", "litres", "liter", "liters"), "l"),
        **dict.fromkeys(("gal", "gals", "usgal", "gallon", "gallons", "usg"), "gal"),
    },
    "percent": dict.fromkeys(("%", "pct", "percent", "%rh", "rh%"), "%"),
    "plain": dict.fromkeys(("1", "-", "n/a", "none", "mach", "m", "ma"), "1"),
}
# units of the trade and its neighbours that are not read: to take them for the usual one is wrong
_NOT_READ: Final = frozenset(
    {"mmhg", "cmhg", "torr", "bar", "atm", "psf", "lbf/ft2", "lb/ft2", "mmh2o", "cmh2o", "inh2o"}
    | {"mmwc", "inwc", "dapa", "kgf/cm2", "kg/cm2", "n/m2"}
    | {"ft/s", "fps", "ft/sec", "feet/s", "feet/second", "m/min", "km/s", "cm/s", "mm/s", "km/min"}
    | {"cm", "mm", "dm", "hm", "hft", "fl", "yd", "yds", "yard", "yards", "mi", "mile", "miles"}
    | {"nm", "nmi", "r", "degr", "rankine", "grad", "grads", "gon", "mil", "mils", "turn", "turns"}
)
# words that a unit may carry without being another unit: 'ft msl', 'deg true'
_RIDERS: Final = frozenset(
    {"true", "t", "mag", "magnetic", "m", "msl", "amsl", "agl", "baro", "wgs", "wgs84", "gps"}
    | {"utc", "gmt", "indicated", "calibrated", "std"}
)
_DATE_FORM: Final = re.compile(r"#?[ymdhs:/.\- ]{4,}", re.IGNORECASE)


def unit_named(text: str, kind: str) -> str | None:
    """Return the unit that a spelling means for one kind of quantity.

    Args:
        text: A spelling such as ``"kts"``, ``"°C"`` or ``"ft msl"``.
        kind: speed, length, pressure, temperature, angle, time, flow, fuel, percent or plain.

    Returns:
        A name of `fleetcal.units.TO_SI` (and ``"ms"`` for a time); None if the text is not a unit
        of this kind.
    """
    spellings = _SPELLINGS[kind]
    for form in _forms(text):
        if form in spellings:
            return spellings[form]
    return None


def units_of_kind(kind: str) -> tuple[str, ...]:
    """Return the units of a kind of quantity, the usual first; none for a text."""
    return tuple(dict.fromkeys(_SPELLINGS.get(kind, {}).values()))


def is_unread_unit(text: str, kind: str) -> bool:
    """Tell whether a text is a unit that is not read as one of this kind of quantity.

    Args:
        kind: As for `unit_named`.
    """
    return unit_named(text, kind) is None and any(form in _NOT_READ for form in _forms(text))


@lru_cache(maxsize=4096)  # the words of headings come again and again
def is_unit(text: str) -> bool:
    """Tell whether a text is a unit of any kind or a pattern such as ``hh:mm:ss``."""
    if text.strip().lower() in {"l", "r"}:  # far more often left and right than a unit
        return False
    if any(form in _NOT_READ for form in _forms(text)):
        return True
    if any(unit_named(text, kind) for kind in _SPELLINGS):
        return True
    return bool(_DATE_FORM.fullmatch(text)) or text.strip().lower() in {"ident", "#", "enum"}


def _forms(text: str) -> list[str]:
    """Spellings to try: the whole text, then without words that only ride along."""
    plain = text.strip().lower().replace("°", "deg ").replace("º", "deg ").replace("˚", "deg ")
    plain = plain.replace("degdeg", "deg").replace("sec.", "sec").replace("·", " ")
    words = plain.replace("_", " ").replace(".", " ").replace(" per ", "/").split()
    kept = [word for index, word in enumerate(words) if index == 0 or word not in _RIDERS]
    forms = ["".join(words), "".join(kept)]
    if words == ["m", "s"]:
        forms.append("m/s")
    return forms
