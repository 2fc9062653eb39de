"""The flight in the open record formats, written as their standards say."""

from __future__ import annotations

import numpy as np

from .flown import FT, Flown
from .texts import DAY, clock, written


def icartt(flown: Flown) -> str:
    """ICARTT, file format index 1001."""
    variables = [
        ("PALT", "m", "Platform_Altitude_Pressure, pressure altitude", flown.altitude_ft * FT, 2),
        ("IAS", "m s-1", "Platform_AirSpeed_Indicated, from the pitot", flown.ias_kt / 1.943844, 3),
        ("T_amb", "degC", "Met_OutsideTemperature, outside air temperature", flown.oat_degc, 2),
        ("GSPD", "m/s", "Platform_GroundSpeed, GPS", flown.gs_kt / 1.9438444924, 3),
        ("TRKA", "degrees_true", "Platform_Track, GPS ground track", flown.track_deg, 2),
        ("CO", "ppbv", "Gas_CO_InSitu_S_DVMR, carbon monoxide", flown.ias_kt, 1),
    ]
    count = len(variables)
    body = [
        "A name, invented",
        "An invented institute",
        "Air data",
        "An invented campaign",
        "1, 1",
        f"{DAY:%Y, %m, %d}, 2024, 06, 01",
        "1",
        "Time_Start, seconds, elapsed time from 0 hours UTC on day given by date",
        str(count),
        ", ".join(["1"] * count),
        ", ".join(["-9999"] * count),
        *(f"{name}, {unit}, {words}" for name, unit, words, _, _ in variables),
        "0",
        "2",
        "REVISION: R0",
        "LLOD_FLAG: -8888",
    ]
    header = [f"{len(body) + 2}, 1001, V02_2016", *body]
    header.append(",".join(["Time_Start", *(name for name, *_ in variables)]))
    columns = [written(flown.second, 1), *(written(v, places) for *_, v, places in variables)]
    columns[-1][5] = "-8888"
    return "\n".join([*header, *(", ".join(cells) for cells in zip(*columns, strict=True))]) + "\n"


def _angle(degrees: float, figures: int, signs: str) -> str:
    whole = int(abs(degrees))
    thousandths = round((abs(degrees) - whole) * 60000.0)
    if thousandths == 60000:
        whole, thousandths = whole + 1, 0
    return f"{whole:0{figures}d}{thousandths:05d}{signs[int(degrees < 0)]}"


def igc(flown: Flown) -> str:
    """IGC with indicated airspeed, ground speed, track and temperature as extensions."""
    lines = ["AXXXABC", f"HFDTE{DAY:%d%m%y}", "I043640IAS4145GSP4650TRT5154OAT"]
    times = clock(flown, "%H%M%S")
    for i, time in enumerate(times):
        speeds = (flown.ias_kt[i] * 1.852, flown.gs_kt[i] * 1.852, flown.track_deg[i])
        figures = "".join(f"{round(value * 100.0):05d}" for value in speeds)
        oat = f"{round(flown.oat_degc[i] * 10.0):04d}"
        latitude = _angle(flown.latitude_deg[i], 2, "NS")
        longitude = _angle(flown.longitude_deg[i], 3, "EW")
        heights = f"{round(flown.altitude_ft[i] * FT):05d}{round(flown.gps_altitude_m[i]):05d}"
        lines.append(f"B{time}{latitude}{longitude}A{heights}{figures}{oat}")
    return "\r\n".join([*lines, "GABCDEF"]) + "\r\n"


def unspeaking(flown: Flown) -> tuple[str, str]:
    """A table without headings, and the mapping file that explains it."""
    columns = [
        written(flown.second - flown.second[0], 1),
        written(np.full(flown.second.size, 7.0), 0),
        written(flown.ias_kt * 1.852, 2),
        written(flown.altitude_ft, 1),
        written(flown.oat_degc, 2),
        written(flown.gs_kt, 2),
        written(flown.track_deg, 2),
    ]
    columns[2][400] = "-1"
    text = "\n".join(",".join(cells) for cells in zip(*columns, strict=True)) + "\n"
    mapping = """
north = "true"
elapsed_time = { column = 1, unit = "s" }
indicated_airspeed = { column = 3, unit = "km/h", missing = [-1] }
pressure_altitude = { column = 4, unit = "ft" }
probe_temperature = { column = 5, unit = "degC" }
ground_speed = { column = 6, unit = "kt" }
track = { column = 7, unit = "deg" }
"""
    return text, mapping
