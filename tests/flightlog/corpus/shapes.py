"""Name -> bytes of a flight in that shape; all must reduce to the points of the plain one."""

from __future__ import annotations

import codecs
import gzip
import io
import re
import zipfile
from collections.abc import Callable

import numpy as np

from .flown import FT, KT, Flown
from .texts import Columns, changed, clock, decimal_comma, iso, readings, replaced, table, written

MPH = 1609.344 / 3600.0
IAS, ALT, OAT = "IAS (kt)", "pressure altitude (ft)", "OAT (degC)"
GS, TRACK = "ground speed (kt)", "track (deg true)"


def plain(flown: Flown) -> str:
    """The plain file that all others are compared with."""
    return table(iso(flown) | readings(flown))


def shapes(flown: Flown) -> dict[str, bytes]:
    """Return every shape of delimited text."""
    texts = {**_codings(flown)}
    for part in (_units(flown), _clocks(flown), _headings(flown), _faults(flown), _sources(flown)):
        texts |= {name: text.encode() for name, text in part.items()}
    return texts


def _codings(flown: Flown) -> dict[str, bytes]:
    def quote(cell: str) -> str:
        return f'"{cell}"'

    text = plain(flown)
    columns = iso(flown) | readings(flown)
    comma_decimals = replaced(
        decimal_comma(columns),
        {OAT: ("OAT (°C)", decimal_comma(columns)[OAT])},
    )
    quoted = _cell_by_cell(text, ",", quote, ",")
    commas_in_quotes = _cell_by_cell(table(comma_decimals, ";"), ";", quote, ",")
    padded = _cell_by_cell(text, ",", lambda cell: cell.rjust(9), ", ")
    names = {re.sub(r"\W+", "_", name).strip("_"): cells for name, cells in columns.items()}
    blanks = table(names, "   ")
    zipped = io.BytesIO()
    with zipfile.ZipFile(zipped, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("flights/log.csv", text)
    return {
        "plain": text.encode(),
        "utf-8 with mark, quotes": codecs.BOM_UTF8 + quoted.encode(),
        "semicolon, decimal comma, code page": table(comma_decimals, ";").encode("cp1252"),
        "decimal comma inside quotes between commas": commas_in_quotes.encode(),
        "utf-16 with mark, tabs": table(columns, "\t").encode("utf-16"),
        "utf-16 big-endian without mark": table(columns, ";").encode("utf-16-be"),
        "padded with blanks": padded.encode(),
        "blanks": blanks.encode(),
        "bars": table(columns, "|").encode(),
        "carriage returns only": text.replace("\n", "\r").encode(),
        "separator at the end": changed(text, lambda ls: [f"{ln}," for ln in ls]).encode(),
        "gzip": gzip.compress(text.encode()),
        "zip": zipped.getvalue(),
    }


def _cell_by_cell(text: str, separator: str, change: Callable[[str], str], between: str) -> str:
    """Change every cell, and what stands between them."""
    return changed(
        text,
        lambda lines: [between.join(change(c) for c in line.split(separator)) for line in lines],
    )


def _units(flown: Flown) -> dict[str, str]:
    base = iso(flown) | readings(flown)
    metric = {
        IAS: ("IAS [m/s]", written(flown.ias_kt * KT, 3)),
        ALT: ("pressure altitude [m]", written(flown.altitude_ft * FT, 2)),
        OAT: ("OAT [K]", written(flown.oat_degc + 273.15, 2)),
        GS: ("ground speed [m/s]", written(flown.gs_kt * KT, 3)),
        TRACK: ("true track [rad]", written(np.radians(flown.track_deg), 5)),
    }
    road = {
        IAS: ("IAS, km/h", written(flown.ias_kt * 1.852, 2)),
        GS: ("ground speed, km/h", written(flown.gs_kt * 1.852, 2)),
    }
    miles = {
        IAS: ("IAS mph", written(flown.ias_kt * KT / MPH, 2)),
        OAT: ("OAT (°F)", written(flown.oat_degc * 1.8 + 32.0, 2)),
        GS: ("gnd speed (mph)", written(flown.gs_kt * KT / MPH, 2)),
    }
    altimeter = {
        ALT: ("indicated altitude (ft)", written(flown.indicated_ft, 1)),
        OAT: ("altimeter setting (hPa)", ["1003.0"] * flown.second.size),
    }
    inches = {
        ALT: ("ind alt (ft)", written(flown.indicated_ft, 1)),
        OAT: ("altimeter setting (inch)", [f"{1003.0 / 33.86388640341:.5f}"] * flown.second.size),
    }
    oat = {"OAT (degC)": written(flown.oat_degc, 2)}
    return {
        "metric": table(replaced(base, metric)),
        "kilometres an hour": table(replaced(base, road), ";"),
        "miles an hour and fahrenheit": table(replaced(base, miles)),
        "altimeter and its setting": table(replaced(base, altimeter) | oat),
        "altimeter and its setting in inches": table(replaced(base, inches) | oat),
        "fuel by volume": table(base | {"Fuel Flow (l/h)": written(flown.fuel_lph, 1)}),
    }


def _sources(flown: Flown) -> dict[str, str]:
    base = iso(flown) | readings(flown)
    static = flown.static_hpa
    by_pressure = {ALT: ("static pressure (hPa)", written(static, 3))}
    return {
        "static pressure only": table(replaced(base, by_pressure)),
        "static pressure in inches": table(
            replaced(base, {ALT: ("Static press (inHg)", written(static / 33.86388640341, 4))})
        ),
        "pressures only, kPa and psi": table(
            replaced(
                base,
                {
                    ALT: ("Ps (kPa)", written(static / 10.0, 4)),
                    IAS: ("qc (psi)", written(flown.impact_hpa / 68.94757293168, 6)),
                },
            )
        ),
        "impact pressure only": table(
            replaced(base, {IAS: ("impact pressure (hPa)", written(flown.impact_hpa, 4))})
        ),
        "true airspeed only": table(replaced(base, {IAS: ("TAS (kt)", written(flown.tas_kt, 2))})),
        "positions only": table(
            replaced(
                base,
                {
                    GS: ("latitude (deg)", written(flown.latitude_deg, 8)),
                    TRACK: ("longitude (deg)", written(flown.longitude_deg, 8)),
                },
            )
            | {"GPS altitude (m)": written(flown.gps_altitude_m, 1)}
        ),
        "two airspeeds and positions": table(
            base
            | {
                "TAS (kt)": written(flown.tas_kt, 1),
                "lat (deg)": written(flown.latitude_deg, 6),
                "lon (deg)": written(flown.longitude_deg, 6),
                "alt MSL (m)": written(flown.gps_altitude_m, 0),
                "static pressure (hPa)": written(static, 2),
            }
        ),
    }


def _clocks(flown: Flown) -> dict[str, str]:
    told = readings(flown)
    elapsed = flown.second - flown.second[0]
    epoch = flown.second + 1714608000.0
    of_day = np.mod(flown.second, 86400.0)
    offset = ["+02:00"] * flown.second.size
    run_on = clock(flown, "%H%M%S.%2")
    return {
        "date and time": table(
            {"UTC date": clock(flown, "%Y-%m-%d"), "UTC time": clock(flown, "%H:%M:%S.%2")} | told
        ),
        "date that stays that of the start": table(
            {"Date UTC": ["2024-05-02"] * epoch.size, "Time UTC": clock(flown, "%H:%M:%S")} | told
        ),
        "day first, twelve hours": table(
            {"Date (dd/mm/yyyy)": clock(flown, "%d/%m/%Y"), "UTC time": clock(flown, "%I:%M:%S %p")}
            | told
        ),
        "epoch seconds": table({"Unix time (s)": written(epoch, 2)} | told),
        "epoch milliseconds": table({"timestamp (ms)": written(epoch * 1000.0, 0)} | told),
        "seconds of the day, date above": "# flight of 2024-05-02\n"
        + table({"UTC seconds of day (s)": written(of_day, 2)} | told),
        "local time with its offset in a column": table(
            {
                "local date (yyyy-mm-dd)": clock(flown, "%Y-%m-%d", 7200.0),
                "local time": clock(flown, "%H:%M:%S", 7200.0),
                "UTC offset": offset,
            }
            | told
        ),
        "local time with its offset in the cell": table(
            {"time": clock(flown, "%Y-%m-%d %H:%M:%S+02:00", 7200.0)} | told
        ),
        "figures run on": table({"UTC (hhmmss)": run_on} | told),
        "elapsed seconds": table({"elapsed (s)": written(elapsed, 2)} | told),
        "elapsed hours and minutes": table(
            {"elapsed time": clock(flown, "%H:%M:%S", -float(flown.second[0]))} | told
        ),
    }


def _headings(flown: Flown) -> dict[str, str]:
    base = iso(flown) | readings(flown)
    order = [TRACK, OAT, "UTC", GS, ALT, IAS]
    shuffled: Columns = {name: base[name] for name in order}
    decoys = {
        "CAS (kt)": written(flown.ias_kt + 7.0, 1),
        "selected altitude (ft)": ["9000"] * flown.second.size,
        "wind speed (kt)": ["31"] * flown.second.size,
        "density altitude (ft)": ["8000"] * flown.second.size,
        "oil temp (degC)": ["95"] * flown.second.size,
        "heading (deg)": written(flown.heading_deg, 1),
        "GPS altitude (m)": written(flown.gps_altitude_m, 0),
    }
    short = ["Zulu Time", "KIAS", "PressAlt", "SAT probe", "GS", "COG"]
    return {
        "short names, row of units": table(
            base,
            "\t",
            [
                ["time", "IAS", "PA", "OAT", "GS", "TRK"],
                ["UTC", "kts", "feet", "deg C", "kts", "deg true"],
            ],
        ),
        "units above the names": table(
            base,
            ",",
            [
                ["#yyyy-mm-dd hh:mm:ss", "kt", "ft", "deg C", "kt", "deg T"],
                ["UTC", "IAS", "press alt", "OAT", "gnd spd", "TRK"],
            ],
        ),
        "three heading rows": table(
            base,
            ",",
            [
                ["UTC", "indicated", "pressure", "outside air", "ground", "ground"],
                ["time", "airspeed", "altitude", "temperature", "speed", "track"],
                ["", "kt", "ft", "degC", "kt", "deg true"],
            ],
        ),
        "any order, preamble, headings behind a mark": "# recorder 7\n# no comment\n"
        "# calibration: none; see card\n#" + table(shuffled),
        "no units at all": table(base, ",", [[*short[:3], "OAT", *short[4:]]]),
        "decoys": table({**decoys, **base}),
    }


def _faults(flown: Flown) -> dict[str, str]:
    text = plain(flown)
    rng = np.random.default_rng(3)

    def missing(lines: list[str]) -> list[str]:
        codes = ["", "-9999", "NaN", "---", "-9999.0"]
        for i in rng.choice(np.arange(20, len(lines)), 60, replace=False):
            cells = lines[i].split(",")
            cells[int(rng.integers(1, 6))] = codes[int(rng.integers(len(codes)))]
            lines[i] = ",".join(cells)
        return lines

    def rates(lines: list[str]) -> list[str]:
        kept = []
        for i, line in enumerate(lines):
            cells = line.split(",")
            if i and i % 2:
                cells[4] = cells[5] = ""
            if i and i % 2 == 0:
                cells[1] = cells[2] = ""
            if i and i % 10 != 1:
                cells[3] = ""
            kept.append(",".join(cells))
        return kept

    def stray(lines: list[str]) -> list[str]:
        return [*lines[:300], *lines[120:123], *lines[300:]]

    def restarted(lines: list[str]) -> list[str]:
        return [*lines[:621], lines[0], *lines[621:]]

    return {
        "missing-value codes": changed(text, missing),
        "columns at different rates": changed(text, rates),
        "rows repeated and dropped": changed(text, _repeated_and_dropped),
        "a few rows of long ago": changed(text, stray),
        "headings repeated by a restart": changed(text, restarted),
        "written twice over": text + text,
        "comments between the rows": changed(
            text, lambda ls: [*ls[:200], "# marker pressed", *ls[200:]]
        ),
        "cut off by a loss of power": text[:-17] + "\x00" * 40,
        "clock set back between the boxes": changed(text, lambda ls: _set_back(ls, flown)),
    }


def _repeated_and_dropped(lines: list[str]) -> list[str]:
    """Write every ninth row twice and leave every 23rd out."""
    found = [lines[0]]
    for i, line in enumerate(lines[1:]):
        if i % 23:
            found += [line, line] if i % 9 == 4 else [line]
    return found


def _set_back(lines: list[str], flown: Flown) -> list[str]:
    """From the second box on, write the time ten minutes earlier."""
    early = clock(flown, "%Y-%m-%dT%H:%M:%S.%2Z", -600.0)
    return [
        line if i < 595 else ",".join([early[i - 1], *line.split(",")[1:]])
        for i, line in enumerate(lines)
    ]
