"""What a column heading says: its words and the units it may be in."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final

from fleetcal.flightlog.unit_words import is_unit

_BRACKETS: Final = re.compile(r"[(\[{<]([^)\]}>]*)[)\]}>]")
_CAMEL: Final = re.compile(r"(?<=[a-z])(?=[A-Z])|(?<=[A-Z])(?=[A-Z][a-z])|(?<=[A-Za-z])(?=\d)")
#: Letters of a heading that are looked at; pairs of brackets are looked for from each of them.
_LONGEST: Final = 500
_BETWEEN: Final = re.compile(r"[^A-Za-z0-9]+")

_NORTHS: Final = frozenset({"true", "magnetic", "mag"})
_MEANING: Final[dict[str, tuple[str, ...]]] = {
    **dict.fromkeys(("ias", "kias", "vi", "vic", "asi", "vias"), ("indicated", "airspeed")),
    **dict.fromkeys(("tas", "ktas", "vt", "vtas"), ("true", "airspeed")),
    **dict.fromkeys(("cas", "kcas", "vc", "vcas"), ("calibrated", "airspeed")),
    **dict.fromkeys(("eas", "keas", "ve"), ("equivalent", "airspeed")),
    **dict.fromkeys(
        ("gs", "sog", "gspd", "gndspd", "groundspeed", "vg", "vgnd"), ("ground", "speed")
    ),
    **dict.fromkeys(("spd", "velocity", "vel"), ("speed",)),
    **dict.fromkeys(("gnd", "grnd"), ("ground",)),
    **dict.fromkeys(("ind", "indic"), ("indicated",)),
    **dict.fromkeys(("cal", "calib"), ("calibrated",)),
    **dict.fromkeys(("trk", "cog", "tk"), ("track",)),
    "course": ("course",),
    **dict.fromkeys(("hdg", "yaw"), ("heading",)),
    **dict.fromkeys(("mag", "magn"), ("magnetic",)),
    **dict.fromkeys(("alt", "height", "hgt", "altitudes"), ("altitude",)),
    **dict.fromkeys(
        ("palt", "altp", "hp", "hic", "paltitude", "pa", "pralt", "palt1013"),
        ("pressure", "altitude"),
    ),
    **dict.fromkeys(("press", "pres", "prs"), ("pressure",)),
    **dict.fromkeys(("barometric",), ("baro",)),
    **dict.fromkeys(("gnss", "satellite"), ("gps",)),
    **dict.fromkeys(("amsl", "wgs", "ellipsoid", "ellipsoidal", "orthometric"), ("gps",)),
    **dict.fromkeys(("geometric", "msl"), ("gps",)),
    **dict.fromkeys(("hae", "hmsl", "altmsl", "gpsalt", "gpsaltitude"), ("gps", "altitude")),
    **dict.fromkeys(("ele", "elev"), ("elevation",)),
    "qnh": ("altimeter", "setting"),
    "qne": ("standard",),
    **dict.fromkeys(("ps", "pstat"), ("static", "pressure")),
    **dict.fromkeys(("qc", "qci", "qcic", "pdyn"), ("impact", "pressure")),
    **dict.fromkeys(("dynamic", "dyn", "differential", "diff"), ("impact",)),
    **dict.fromkeys(("temp", "tmp", "temps"), ("temperature",)),
    **dict.fromkeys(("oat",), ("outside", "temperature")),
    **dict.fromkeys(("sat",), ("static", "temperature")),
    **dict.fromkeys(("tat",), ("total", "temperature")),
    **dict.fromkeys(("relhum", "relhumidity", "hum", "humid"), ("relative", "humidity")),
    **dict.fromkeys(("dewpoint", "dewpt", "dewp"), ("dew", "point")),
    **dict.fromkeys(("stagnation", "ram"), ("total",)),
    **dict.fromkeys(("ambient", "amb"), ("static",)),
    **dict.fromkeys(("outsideair", "external", "free", "outer"), ("outside",)),
    **dict.fromkeys(("vs", "vsi", "roc", "vspd", "vspeed"), ("vertical", "speed")),
    "vert": ("vertical",),
    "bank": ("roll",),
    **dict.fromkeys(("lat",), ("latitude",)),
    **dict.fromkeys(("lon", "lng", "long"), ("longitude",)),
    **dict.fromkeys(("flaps",), ("flap",)),
    **dict.fromkeys(("aspd", "airspd", "arspd"), ("airspeed",)),
    **dict.fromkeys(("ff", "fflow", "fuelflow"), ("fuel", "flow")),
    **dict.fromkeys(("qty", "level", "contents"), ("quantity",)),
    **dict.fromkeys(("fob", "fuelqty"), ("fuel", "quantity")),
    **dict.fromkeys(("utcofst", "utcoffset"), ("utc", "offset")),
    "ofst": ("offset",),
    **dict.fromkeys(("gmt", "zulu", "z"), ("utc",)),
    **dict.fromkeys(("lcl", "lt"), ("local",)),
    **dict.fromkeys(("timestamp", "datetime", "clock"), ("time",)),
    **dict.fromkeys(("sec", "secs", "second"), ("seconds",)),
    **dict.fromkeys(("unix", "posix"), ("epoch",)),
    **dict.fromkeys(("sel", "sld", "bug", "target", "tgt", "desired", "cmd"), ("selected",)),
    **dict.fromkeys(("commanded", "command", "dtk", "preselect", "preselected"), ("selected",)),
}
_OF_KNOTS: Final = frozenset({"kias", "ktas", "kcas"})
_PAIRS: Final[dict[tuple[str, str], tuple[str, ...]]] = {
    ("air", "speed"): ("airspeed",),
    ("ground", "speed"): ("ground", "speed"),
    ("altitude", "b"): ("baro", "altitude"),
    ("altitude", "p"): ("pressure", "altitude"),
    ("p", "altitude"): ("pressure", "altitude"),
    ("baro", "a"): ("altimeter", "setting"),
    ("baro", "setting"): ("altimeter", "setting"),
    ("v", "speed"): ("vertical", "speed"),
    ("i", "airspeed"): ("indicated", "airspeed"),
    ("t", "airspeed"): ("true", "airspeed"),
    ("29", "92"): ("standard",),
}


@dataclass(frozen=True)
class Heading:
    """One column heading taken apart.

    Attributes:
        text: As written.
        words: Its words in one spelling, units left out.
        unit_texts: What may be its unit, the most telling first.
        tokens: Its words as written, in small letters.
    """

    text: str
    words: frozenset[str]
    unit_texts: tuple[str, ...]
    tokens: tuple[str, ...] = ()


def take_apart(text: str, unit_cell: str = "") -> Heading:
    """Take a heading apart into words and possible units.

    Args:
        text: Such as ``"IAS (kt)"``, ``"ias_kt"``, ``"IAS, kt"``, ``"gnd speed"``.
        unit_cell: The cell below or above it in a row of units.
    """
    written_text, text = text, text[:_LONGEST]
    unit_cell = unit_cell[:_LONGEST].strip().strip("()[]{}#")
    inside = [part.strip() for found in _BRACKETS.findall(text) for part in found.split(",")]
    name = _BRACKETS.sub(" ", text)
    units = [part for part in (unit_cell, *inside) if part]
    rest = [part for part in units if not is_unit(part) or " " in part]
    if "," in name:
        front, tail = name.rsplit(",", 1)
        if is_unit(tail):
            name = front
            units.append(tail.strip())
    tokens = [token for token in _BETWEEN.split(name) if token]
    tokens, tail_units = _without_tail_unit(tokens)
    units.extend(tail_units)
    units.extend("kt" for token in tokens if token.lower() in _OF_KNOTS)
    tokens.extend(token for part in rest for token in _BETWEEN.split(part) if token)
    written = tuple(token.lower() for token in tokens)
    return Heading(written_text.strip(), frozenset(_words(tokens)), tuple(units), written)


def _without_tail_unit(tokens: list[str]) -> tuple[list[str], list[str]]:
    """Take a unit off the end of a name such as ``ground_speed_m_s`` or ``oat_c``."""
    if len(tokens) > 2 and [t.lower() for t in tokens[-2:]] == ["m", "s"]:
        return tokens[:-2], ["m/s"]
    if len(tokens) > 2 and [t.lower() for t in tokens[-2:]] in (["km", "h"], ["ft", "min"]):
        return tokens[:-2], ["/".join(tokens[-2:])]
    if len(tokens) > 2 and tokens[-1].lower() in _NORTHS and is_unit(tokens[-2]):
        return [*tokens[:-2], tokens[-1]], [tokens[-2]]
    if len(tokens) > 1 and is_unit(tokens[-1]) and tokens[-1].lower() != "mach":
        return tokens[:-1], [tokens[-1]]
    return tokens, []


def _words(tokens: list[str]) -> list[str]:
    """Bring tokens to one spelling; capitals inside a token separate words."""
    words: list[str] = []
    for token in tokens:
        lower = token.lower()
        parts = [lower] if lower in _MEANING else [p.lower() for p in _CAMEL.split(token) if p]
        for part in parts:
            words.extend(_MEANING.get(part, (part,)))
    index = 0
    joined: list[str] = []
    while index < len(words):
        pair = tuple(words[index : index + 2])
        if len(pair) == 2 and pair in _PAIRS:
            joined.extend(_PAIRS[pair])
            index += 2
        else:
            joined.append(words[index])
            index += 1
    return joined
