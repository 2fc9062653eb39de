"""Files that must be refused, each with the true reason."""

from __future__ import annotations

import gzip
import io
import zipfile

import numpy as np

from fleetcal.errors import (
    DataError,
    FleetcalError,
    ImplausibleError,
    MissingColumnError,
    NotTextError,
)

from .flown import FT, KT, Flown
from .shapes import ALT, GS, IAS, OAT, TRACK, plain
from .texts import iso, readings, replaced, table, written

Refusal = tuple[bytes, type[FleetcalError], str]


def refused(flown: Flown) -> dict[str, Refusal]:
    """Name -> (bytes, kind of refusal, what the message must name)."""
    return {**_lacking(flown), **_contradicting(flown), **_packed(flown)}


def _lacking(flown: Flown) -> dict[str, Refusal]:
    base = iso(flown) | readings(flown)
    missing = MissingColumnError

    def with_changed(name: str, heading: str, values: np.ndarray, decimals: int = 1) -> bytes:
        return table(replaced(base, {name: (heading, written(values, decimals))})).encode()

    return {
        "heading in place of track": (
            with_changed(TRACK, "magnetic heading (deg)", flown.heading_deg),
            missing,
            "GPS ground track",
        ),
        "calibrated airspeed only": (
            with_changed(IAS, "CAS (kt)", flown.ias_kt),
            missing,
            "airspeed",
        ),
        "satellite altitude only": (
            with_changed(ALT, "GPS altitude (m)", flown.gps_altitude_m),
            missing,
            "pressure altitude",
        ),
        "altimeter without its setting": (
            with_changed(ALT, "indicated altitude (ft)", flown.indicated_ft),
            missing,
            "pressure altitude",
        ),
        "oil temperature only": (
            with_changed(OAT, "oil temperature (degC)", flown.oat_degc + 80.0),
            missing,
            "temperature",
        ),
        "static pressure in millimetres of mercury": (
            with_changed(ALT, "static pressure (mmHg)", flown.static_hpa / 1.33322387415, 3),
            missing,
            "'static pressure (mmHg)' is not known",
        ),
        "airspeed in feet a second": (
            with_changed(IAS, "ias_fps", flown.ias_kt * KT / FT, 2),
            missing,
            "'ias_fps' is not known",
        ),
        "no ground speed": (
            table(replaced(base, {GS: ("", [])})).encode(),
            missing,
            "ground speed",
        ),
    }


def _contradicting(flown: Flown) -> dict[str, Refusal]:
    base = iso(flown) | readings(flown)
    satellite = {"GPS altitude (m)": written(flown.gps_altitude_m, 1)}
    positions = {
        "latitude (deg)": written(flown.latitude_deg, 7),
        "longitude (deg)": written(flown.longitude_deg, 7),
    }
    still = {
        GS: (GS, ["93.0"] * flown.second.size),
        TRACK: (TRACK, ["123.0"] * flown.second.size),
    }
    dead = {IAS: (IAS, written(np.full(flown.second.size, 0.4), 1))}
    days_apart = plain(flown) + "\n".join(
        plain(flown).replace("2024-05-0", "2024-06-0").splitlines()[1:]
    )
    false = ImplausibleError

    def metres(more: dict[str, list[str]]) -> bytes:
        wrong = {ALT: (ALT, written(flown.altitude_ft * FT, 1))}
        return table(replaced(base, wrong) | more).encode()

    return {
        "metres called feet, satellite altitude beside": (
            metres(satellite),
            false,
            "numbers were m ",
        ),
        "metres called feet, static pressure beside": (
            metres({"static pressure (hPa)": written(flown.static_hpa, 2)}),
            false,
            "numbers look like m",
        ),
        "fahrenheit called celsius": (
            table(replaced(base, {OAT: (OAT, written(flown.oat_degc * 1.8 + 32.0, 1))})).encode(),
            false,
            "numbers look like degF",
        ),
        "kilometres an hour called knots, positions beside": (
            table(replaced(base, {GS: (GS, written(flown.gs_kt * 1.852, 1))}) | positions).encode(),
            false,
            "numbers look like km/h",
        ),
        "miles an hour called knots, true airspeed beside": (
            table(
                replaced(base, {IAS: (IAS, written(flown.ias_kt * 1.150779, 1))})
                | {"TAS (kt)": written(flown.tas_kt, 1)}
            ).encode(),
            false,
            "were mph",
        ),
        "satellite receiver frozen": (table(replaced(base, still)).encode(), false, "stood still"),
        "airspeed sensor dead": (table(replaced(base, dead)).encode(), false, "indicated airspeed"),
        "flights of two months": (days_apart.encode(), DataError, "several days"),
    }


def _packed(flown: Flown) -> dict[str, Refusal]:
    text = plain(flown).encode()
    two = io.BytesIO()
    with zipfile.ZipFile(two, "w") as archive:
        archive.writestr("a.csv", text)
        archive.writestr("b.csv", text)
    workbook = io.BytesIO()
    with zipfile.ZipFile(workbook, "w") as archive:
        archive.writestr("[Content_Types].xml", "<x/>")
    bomb = gzip.compress(text + b"\n" * (64 << 20))
    return {
        "archive of two logs": (two.getvalue(), NotTextError, "2 files"),
        "spreadsheet workbook": (workbook.getvalue(), NotTextError, "workbook"),
        "packed file that bursts": (bomb, NotTextError, "times its size"),
        "packed file cut off": (gzip.compress(text)[:-400], NotTextError, "cannot be unpacked"),
        "packed twice": (gzip.compress(gzip.compress(text)), NotTextError, "inside another"),
    }
