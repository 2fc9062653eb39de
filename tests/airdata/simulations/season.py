"""A season's logs of ordinary flights in a folder, for trying ``fleetcal reduce`` on them.

``python -m tests.airdata.simulations.season FOLDER [AIRFRAMES [FLIGHTS [SEED]]]`` writes, for
10 airframes of 20 flights each with seed 1 if nothing else is given,

- ``logs/``: a log of each flight, which begins and ends in the air;
- ``flights.csv``: the list that ``reduce --flights`` takes;
- ``fleet.toml``: the made-up fleet for ``fleet load``;
- ``truth.csv``: the true error of each port in straight flight, at four indicated airspeeds
  without indicator error, and what is wrong with its instruments;

and prints the commands that try them.
"""

from __future__ import annotations

import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np

from seed_demo.air import FT, ICE_POINT_K, KT
from tests.airdata.simulations.ordinary import (
    ORDINARY_DAY,
    RECOVERY,
    OrdinaryAirframe,
    OrdinaryDay,
    OrdinaryLog,
    each_ordinary_airframe,
)
from tests.airdata.simulations.point_mass import MASS_KG
from tests.airdata.simulations.recorder import SCALING_MPS

FIRST_DAY = datetime(2025, 4, 1, tzinfo=UTC)
DAYS_BETWEEN = 9
HEADINGS = (
    *("UTC date", "UTC time", "IAS (kt)", "pressure altitude (ft)", "OAT (degC)"),
    *("ground speed (kt)", "track (deg true)", "GPS altitude (ft)"),
)
DECIMALS = (1, 0, 1, 1, 1, 0)
TRUTH_AT_KT = (65, 80, 100, 115)


def log_text(log: OrdinaryLog, start: datetime) -> str:
    """Return a log as a file holds it.

    Args:
        start: Of the first line, UTC.
    """
    track_deg = np.degrees(np.arctan2(log.east_mps, log.north_mps))
    columns = np.stack(
        [
            log.airspeed_mps / KT,
            log.altitude_m / FT,
            log.temperature_k - ICE_POINT_K,
            np.hypot(log.east_mps, log.north_mps) / KT,
            np.round(track_deg, 1) % 360.0,
            log.height_m / FT,
        ],
        axis=1,
    )
    lines = [",".join(HEADINGS)]
    for second, row in enumerate(columns.tolist()):
        clock = (start + timedelta(seconds=second)).strftime("%Y-%m-%d,%H:%M:%S")
        cells = (f"{value:.{places}f}" for value, places in zip(row, DECIMALS, strict=True))
        lines.append(",".join((clock, *cells)))
    return "\n".join(lines) + "\n"


def write_season(
    folder: Path, airframes: int, flights_each: int, seed: int, day: OrdinaryDay = ORDINARY_DAY
) -> None:
    """Write logs, list, fleet and truth.

    Args:
        folder: Made if it is not there; files of the same names are replaced.
    """
    (folder / "logs").mkdir(parents=True, exist_ok=True)
    listed, truth = ["file,airframe,weight_kg"], [_TRUTH_HEADING]
    fleet = [_TYPE]
    flown = each_ordinary_airframe(day, range(airframes), flights_each, seed)
    for number, airframe in enumerate(flown):
        tag = f"C-{number + 1:02d}"
        fleet.append(_AIRFRAME.format(tag=tag))
        truth.append(_truth_line(tag, airframe))
        for count, flight in enumerate(airframe.flights):
            start = FIRST_DAY + timedelta(days=DAYS_BETWEEN * count, hours=9, minutes=7 * number)
            name = f"{tag}-{start:%Y-%m-%d}.csv"
            text = log_text(flight.log, start)
            (folder / "logs" / name).write_text(text, encoding="utf-8")
            listed.append(f"{name},{tag},{MASS_KG:.0f}")
    for name, lines in (("flights.csv", listed), ("truth.csv", truth), ("fleet.toml", fleet)):
        (folder / name).write_text("\n".join(lines) + "\n", encoding="utf-8")


_TRUTH_HEADING = ",".join(
    (
        "airframe",
        *(f"kappa_at_{at}_kt" for at in TRUTH_AT_KT),
        *("airspeed_error_kt", "altitude_error_ft", "temperature_error_k", "recovery_error"),
    )
)


def _truth_line(tag: str, airframe: OrdinaryAirframe) -> str:
    errors = airframe.errors
    numbers = [
        *airframe.kappa_at(np.array(TRUTH_AT_KT) * KT).tolist(),
        errors.airspeed_mps / KT,
        errors.altitude_m / FT,
        errors.temperature_k,
        errors.recovery,
    ]
    return ",".join([tag, *(f"{number:.5f}" for number in numbers)])


_TYPE = f"""# Everything in this file is invented.
[[type]]
name = "Corrie 2"
wing_area_m2 = 11.0
reference_weight_kg = {MASS_KG:.0f}
scaling_speed_kt = {SCALING_MPS / KT:.0f}

[[type.static_source]]
name = "wing boom"

[[engine]]
name = "95 hp"

[[propeller]]
name = "fixed"
pitch = "fixed"
"""
_AIRFRAME = f"""[[airframe]]
tag = "{{tag}}"
type = "Corrie 2"
temperature_shows = "probe"
recovery_factor = {RECOVERY}

[[airframe.fit]]
from = {FIRST_DAY:%Y-%m-%d}
static_source = "wing boom"
engine = "95 hp"
propeller = "fixed"
"""


def main(words: list[str]) -> None:
    """Write a season and print what to do with it."""
    folder = Path(words[0])
    airframes, flights_each, seed = (
        int(word) for word in words[1:] + ["10", "20", "1"][len(words) - 1 :]
    )
    write_season(folder, airframes, flights_each, seed)
    print(f"{airframes * flights_each} logs in {folder / 'logs'}; now:")
    print(f"export FLEETCAL_STORE={folder / 'season.store'}")
    print(f"fleetcal fleet load {folder / 'fleet.toml'}")
    print(f"fleetcal reduce {folder / 'logs'} --flights {folder / 'flights.csv'} --solve-by flight")


if __name__ == "__main__":
    main(sys.argv[1:])
