"""How often a wrong unit in a sheet of legs is caught, and a right sheet doubted.

``python -m tests.flightlog.wrong_sheets [SHEETS]`` prints four lines for each way of writing
the same legs, for sheets of one run, of two a quarter apart in airspeed, and of three further
apart, seeds fixed. The legs are flown in a wind that changes from leg to leg; gusts are in
the airspeed read. The ports err by another law of airspeed than the program's curves,
ordinary ones by a few hundredths of the impact pressure, others by up to 0.7 of it when
slow. The last line is of one run with a handbook that has the port's curve, from which the
airframe differs.
"""

from __future__ import annotations

import sys
import tempfile
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from fleetcal.errors import FleetcalError
from fleetcal.services.flights.air_taken import stated_air
from fleetcal.services.flights.reduce_flight import preview_flight
from fleetcal.services.flights.reduction import FlightDetails
from fleetcal.services.flights.settings_file import ReductionSettings
from fleetcal.services.known_port import KnownPort
from fleetcal.services.large_error import is_large, is_suspect
from fleetcal.store import HandbookDescription, TypeDescription
from seed_demo import air
from seed_demo.air import FT, KT
from tests.flightlog.wrong_columns import KMH, MPH, NOT_ACCEPTED, REFUSED, SILENT, WARNED

HEAD = "run,ias_kt,pressure_altitude_ft,oat_degc,ground_speed_kt,track_deg\n"


@dataclass(frozen=True, kw_only=True)
class Written:
    """What the numbers of a sheet are, called kt, ft and degC whatever they are.

    Attributes:
        ias, ground: Knots in a unit of the numbers.
        altitude: Feet in a unit of the numbers.
        fahrenheit: Whether temperatures are.
        slow: Whether the port is far off when slow, and flown slowly.
    """

    ias: float = 1.0
    ground: float = 1.0
    altitude: float = 1.0
    fahrenheit: bool = False
    slow: bool = False


CASES = {
    "right": Written(),
    "right, port far off when slow": Written(slow=True),
    "airspeed mph called kt": Written(ias=MPH),
    "airspeed kt called mph": Written(ias=1.0 / MPH),
    "airspeed km/h called kt": Written(ias=KMH),
    "airspeed kt called km/h": Written(ias=1.0 / KMH),
    "ground speed mph called kt": Written(ground=MPH),
    "ground speed km/h called kt": Written(ground=KMH),
    "altitude m called ft": Written(altitude=1.0 / FT),
    "degF called degC": Written(fahrenheit=True),
}


WAYS = (
    ("1 run", 1, False),
    ("2 runs", 2, False),
    ("3 runs", 3, False),
    ("1 run, handbook", 1, True),
)


def _kappa(rng: np.random.Generator, slow: bool) -> tuple[float, float, float]:
    """Level, size when slow, and the airspeed (kt) over which that fades."""
    if slow:
        return rng.normal(-0.02, 0.02), rng.uniform(0.35, 0.70), rng.uniform(12.0, 20.0)
    return rng.normal(0.0, 0.03), rng.normal(0.0, 0.06), rng.uniform(15.0, 40.0)


def handbook(seed: int, written: Written) -> KnownPort:
    """What a handbook of the sheet's port says, printed to a knot; airframes differ by 1.5 kt."""
    level, size, fades = _kappa(np.random.default_rng(seed), written.slow)
    ias = np.arange(35.0, 150.0, 10.0)
    felt = air.dial_impact_pressure(ias * KT)
    cas = air.dial_speed((1.0 + level + size * np.exp(-(ias - 40.0) / fades)) * felt) / KT
    cas = np.round(cas + np.random.default_rng(seed + 1).normal(0.0, 1.5))
    book = HandbookDescription(
        type="Corrie 2",
        static_source="wing boom",
        flap_setting="up",
        name="first edition",
        weight_kg=600.0,
        rows=tuple(zip(ias.tolist(), cas.tolist(), strict=True)),
    )
    kind = TypeDescription(name="Corrie 2", reference_weight_kg=600.0, scaling_speed_kt=45.0)
    return KnownPort(
        airframe="C-07", kind=kind, static_source="wing boom", handbooks=(book,), kappas=()
    )


def sheet(seed: int, runs: int, written: Written) -> str:
    """Write the legs of a flight of its own."""
    rng = np.random.default_rng(seed)
    level, size, fades = _kappa(rng, written.slow)
    slowest = 40.0 if written.slow else 60.0
    speeds = slowest * np.array([1.0, 1.35, 1.8]) * rng.uniform(0.97, 1.15, 3)
    if runs == 2:
        speeds = slowest * rng.uniform(1.0, 1.3) * np.array([1.0, 1.25])
    if runs == 1:
        speeds = slowest * rng.uniform(1.0, 1.3 if written.slow else 2.0, 1)
    wind = np.array(rng.normal(0.0, 9.0, 2))
    warmer = rng.normal(0.0, 10.0)
    text = HEAD
    for run, ias in enumerate(speeds, 1):
        kappa = level + size * np.exp(-(ias - 40.0) / fades)
        height = rng.uniform(2000.0, 6000.0)
        first = rng.uniform(0.0, 360.0)
        for heading in np.radians(first + np.array([0.0, 90.0, 180.0, 270.0])):
            read = ias + rng.normal(0.0, 0.8)  # the gust of this leg is felt and read
            felt = air.dial_impact_pressure(np.array(read * KT))
            at_port = air.standard_pressure(np.array(height * FT))
            static = at_port - kappa * felt
            ambient = air.standard_temperature(np.array(height * FT)) + warmer
            mach = air.mach_number(at_port + felt - static, static)
            tas = float(mach * air.speed_of_sound(ambient)) / KT
            wind = wind + rng.normal(0.0, 0.5, 2)
            east, north = tas * np.sin(heading) + wind[0], tas * np.cos(heading) + wind[1]
            celsius = float(ambient) - air.ICE_POINT_K
            shown = celsius * 1.8 + 32.0 if written.fahrenheit else celsius
            text += (
                f"{run},{read / written.ias:.0f},{height / written.altitude:.0f},{shown:.0f},"
                f"{np.hypot(east, north) / written.ground:.0f},"
                f"{np.degrees(np.arctan2(east, north)) % 360.0:.0f}\n"
            )
    return text


def outcome(path: Path, known: KnownPort | None = None) -> str:
    """Reduce a sheet and say what became of it."""
    ambient = FlightDetails(airframe=None, air=stated_air(temperature_shows="ambient"))
    try:
        done = preview_flight(path, ambient, ReductionSettings())
    except FleetcalError:
        return REFUSED
    if not any(run.accepted for run in done.runs):
        return NOT_ACCEPTED
    if known is not None:
        (run,) = done.runs
        if is_large(run) and known.contradiction(run):
            return NOT_ACCEPTED
        return WARNED if is_suspect(run) and not known.bears_out(run) else SILENT
    doubts = [warning for warning in done.warnings if "airspeed" in warning and "%" in warning]
    return WARNED if doubts else SILENT


def batch(
    written: Written, runs: int, sheets: int, seed: int, with_handbook: bool = False
) -> Counter[str]:
    """Count what becomes of sheets written in one way."""
    found: Counter[str] = Counter()
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "legs.csv"
        for number in range(sheets):
            path.write_text(sheet(seed + number, runs, written), encoding="utf-8")
            known = handbook(seed + number, written) if with_handbook else None
            found[outcome(path, known)] += 1
    return found


def main(sheets: int) -> None:
    """Print four lines a case."""
    print(
        f"{sheets} sheets a line; one standard error of a share is at most "
        f"{50.0 / np.sqrt(sheets):.1f} %"
    )
    for name, written in CASES.items():
        for words, runs, with_handbook in WAYS:
            found = batch(written, runs, sheets, 3000, with_handbook)
            shares = ", ".join(f"{what} {count}" for what, count in found.most_common())
            print(f"{name:32s} {words:16s} {shares}", flush=True)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 100)
