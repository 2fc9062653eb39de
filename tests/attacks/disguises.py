"""One flight in other files: packed, cut, saved in other units and columns, typed by hand."""

from __future__ import annotations

import gzip
import io
import zipfile
from collections.abc import Callable, Mapping
from typing import Final

import numpy as np

from tests.cli.invented_sortie import HEADINGS, Card, Sortie, Truth, fly

#: What a flight of the attacks is flown in: air that gusts as real air does.
ROUGH: Final = 0.7
KM_H, M = 1.852, 0.3048


def flown(seed: int, *, wind_kt: tuple[float, float] = (14.0, -9.0), first_s: int = 0) -> Sortie:
    """Fly a card with runs, legs and pauses of its own.

    Args:
        first_s: How much longer the way to the first run is.
    """
    rng = np.random.default_rng(seed)
    card = Card(
        airspeeds_kt=tuple(rng.permutation([75.0, 95.0, 115.0]).tolist()),
        leg_s=int(rng.integers(55, 80)),
        climb_s=int(rng.integers(95, 160)) + first_s,
        first_heading_deg=float(rng.uniform(0.0, 360.0)),
    )
    truth = Truth(roughness=ROUGH, wind_east_kt=wind_kt[0], wind_north_kt=wind_kt[1])
    return fly(card, truth, seed)


def _lines(text: str) -> tuple[str, list[str]]:
    heading, *rows = text.splitlines(keepends=True)
    return heading, rows


def _cut(text: str, begin: float, end: float) -> bytes:
    heading, rows = _lines(text)
    count = len(rows)
    return "".join([heading, *rows[int(begin * count) : int(end * count)]]).encode()


def _zipped(text: str, method: int) -> bytes:
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", method) as archive:
        archive.writestr("again.csv", text)
    return file.getvalue()


def _turned(text: str) -> bytes:
    """Return the columns in the other order."""
    rows = (",".join(reversed(line.split(","))) for line in text.splitlines())
    return ("\n".join(rows) + "\n").encode()


def _decimal_commas(text: str) -> bytes:
    rows = (
        ";".join(cell.replace(".", ",") for cell in line.split(",")) for line in text.splitlines()
    )
    return ("\n".join(rows) + "\n").encode()


def _other_units(text: str) -> bytes:
    """Return speeds in whole km/h, the altitude in whole metres, the temperature in F."""
    heading, rows = _lines(text)
    for old, new in (
        ("IAS (kt)", "IAS (km/h)"),
        ("pressure altitude (ft)", "pressure altitude (m)"),
        ("OAT (degC)", "OAT (degF)"),
        ("ground speed (kt)", "ground speed (km/h)"),
    ):
        assert old in HEADINGS
        heading = heading.replace(old, new)
    out = [heading]
    for row in rows:
        day, time, ias, height, oat, speed, track = row.rstrip("\n").split(",")
        numbers = (float(ias) * KM_H, float(height) * M, float(oat) * 1.8 + 32.0)
        cells = [f"{value:.0f}" for value in (*numbers, float(speed) * KM_H)]
        out.append(",".join([day, time, *cells, f"{float(track):.0f}"]) + "\n")
    return "".join(out).encode()


def _blank_line(text: str) -> bytes:
    heading, rows = _lines(text)
    return "".join([heading, *rows[:200], "\n", *rows[200:]]).encode()


def _without_day(text: str) -> bytes:
    rows = (line.partition(",")[2] for line in text.splitlines())
    return ("\n".join(rows) + "\n").encode()


#: Name of the file and its content, from the text of a log.
LOGS: Final[Mapping[str, tuple[str, Callable[[str], bytes]]]] = {
    "gzip": ("again.csv.gz", lambda text: gzip.compress(text.encode())),
    "zip": ("again.zip", lambda text: _zipped(text, zipfile.ZIP_DEFLATED)),
    "zip by another method": ("again.zip", lambda text: _zipped(text, zipfile.ZIP_BZIP2)),
    "CRLF": ("again.csv", lambda text: text.replace("\n", "\r\n").encode()),
    "byte-order mark": ("again.csv", lambda text: b"\xef\xbb\xbf" + text.encode()),
    "UTF-16": ("again.csv", lambda text: text.encode("utf-16")),
    "one blank line": ("again.csv", _blank_line),
    "first 90 %": ("again.csv", lambda text: _cut(text, 0.0, 0.9)),
    "last 80 %": ("again.csv", lambda text: _cut(text, 0.2, 1.0)),
    "other order of columns": ("again.csv", _turned),
    "decimal commas": ("again.csv", _decimal_commas),
    "other units, whole numbers": ("again.csv", _other_units),
    "a clock without a day": ("again.csv", _without_day),
}


def typed_by_hand(legs: list[dict[str, float]], *, in_mph: bool = False) -> str:
    """Return legs as somebody types them into a sheet, in whole numbers.

    Args:
        legs: As the program prints them.
    """
    unit, factor = ("mph", 1.852 / 1.609344) if in_mph else ("kt", 1.0)
    lines = [f"run,ias_{unit},pressure_altitude_ft,oat_degc,ground_speed_{unit},track_deg_true"]
    for leg in legs:
        speeds = (f"{leg[name] * factor:.0f}" for name in ("vic_kt", "ground_speed_kt"))
        ias, ground = speeds
        height = round(leg["pressure_altitude_ft"], -1)
        lines.append(
            f"{leg['run']:.0f},{ias},{height:.0f},{leg['oat_degc']:.0f},{ground},"
            f"{leg['track_deg']:.0f}"
        )
    return "\n".join(lines) + "\n"
