"""How often a wrong column is caught and a right one doubted.

``python -m tests.flightlog.wrong_columns [FLIGHTS]`` prints a line for each way of writing
the same flights: three boxes at random speeds, altitudes, winds and temperatures, seeds
fixed. The weather, the probe and the air-data computer behind the logged true airspeed are
worse than those that the checks suppose: inversions, a probe warm from the sun, a true
airspeed computed with a correction of its own.
"""

from __future__ import annotations

import sys
import tempfile
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from fleetcal.errors import FleetcalError
from fleetcal.services.flights.air_taken import stated_air
from fleetcal.services.flights.reduce_flight import preview_flight
from fleetcal.services.flights.reduction import FlightDetails, HandChoices
from fleetcal.services.flights.settings_file import ReductionSettings
from seed_demo import air
from seed_demo.air import FT, KT, Array
from seed_demo.card import Card, draw_profile, drawn_box
from seed_demo.gusts import remembering

MPH, KMH, MPS = 1.609344 / 1.852, 1.0 / 1.852, 3.6 / 1.852  # in knots
RECOVERY = 0.8
ALIKE = "off alike"
REFUSED, NOT_ACCEPTED, WARNED, SILENT = "refused", "not accepted", "warned", "silent"


@dataclass(frozen=True, kw_only=True)
class Flown:
    """Readings once a second, arrays of one length in the trade's units."""

    ias_kt: Array
    tas_kt: Array
    altitude_ft: Array
    oat_degc: Array
    gs_kt: Array
    track_deg: Array


def flight(seed: int) -> Flown:
    """Fly three boxes on a day of its own."""
    rng = np.random.default_rng(seed)
    base = rng.uniform(2000.0, 7000.0)
    card = Card(
        boxes=tuple(drawn_box(rng, float(speed)) for speed in rng.permutation([70.0, 90.0, 110.0])),
        altitude_ft=float(base),
        first_heading_deg=float(rng.uniform(0.0, 360.0)),
        runway_heading_deg=float(rng.uniform(0.0, 360.0)),
        surface_wind_kt=5.0,
    )
    profile = draw_profile(card)
    count = profile.ias_kt.size
    dial = profile.ias_kt + profile.airborne * remembering(rng, (count,), 0.8, 18.0, 1.0)
    dial = np.maximum(dial, 0.0) * KT
    height = (
        profile.altitude_ft + profile.airborne * remembering(rng, (count,), 15.0, 25.0, 1.0)
    ) * FT
    at_port, felt = air.standard_pressure(height), air.dial_impact_pressure(dial)
    static = at_port - rng.normal(0.0, 0.03) * felt
    ambient = _temperature(rng, air.pressure_altitude(static))
    mach = air.mach_number(at_port + felt - static, static)
    tas = mach * air.speed_of_sound(ambient)
    wind, toward = rng.uniform(3.0, 25.0) * KT, rng.uniform(0.0, 2.0 * np.pi)
    heading = np.radians(profile.heading_deg)
    east, north = (
        tas * part(heading) + wind * part(toward) + remembering(rng, (count,), 0.3, 10.0, 1.0)
        for part in (np.sin, np.cos)
    )
    soak = rng.uniform(0.0, 6.0) * np.exp(-np.cumsum(profile.airborne) / rng.uniform(60.0, 240.0))
    probe = ambient * (1.0 + 0.2 * RECOVERY * mach**2) + soak + rng.normal(0.0, 1.0)
    computed = air.mach_number(felt * (1.0 + rng.normal(0.0, 0.03)), at_port)
    return Flown(
        ias_kt=dial / KT,
        tas_kt=computed * air.speed_of_sound(ambient) / KT,
        altitude_ft=height / FT,
        oat_degc=probe - 273.15,
        gs_kt=np.hypot(east, north) / KT,
        track_deg=np.degrees(np.arctan2(east, north)) % 360.0,
    )


def _temperature(rng: np.random.Generator, altitude_m: Array) -> Array:
    """Ambient temperature, K: warm or cold, a lapse of 3 to 9.5 K/km, sometimes an inversion."""
    ground = 288.15 + rng.normal(0.0, 10.0)
    lapse = rng.uniform(3.0, 9.5) / 1000.0
    inversion = rng.uniform(2.0, 8.0) if rng.random() < 0.2 else 0.0
    under = 1.0 - np.clip((altitude_m - 200.0) / 400.0, 0.0, 1.0)
    return np.asarray(ground - lapse * altitude_m - inversion * under)


@dataclass(frozen=True, kw_only=True)
class Columns:
    """How a flight is written: units as they are, headings as they say.

    Attributes:
        speed, speed_words: Knots in a unit of airspeed, and what the headings say.
        temperature, temperature_words: What the numbers are, and what the heading says.
        airspeed: Knots in the unit that the airspeed alone is in, while its heading says knots.
        swapped: Airspeed and ground speed in each other's column.
        clock: Pattern of the clock, of ``h``, ``m`` and ``s``.
    """

    speed: float = 1.0
    speed_words: str = " (kt)"
    temperature: str = "degC"
    temperature_words: str = "degC"
    with_tas: bool = False
    airspeed: float = 1.0
    swapped: bool = False
    clock: str = "{h:02d}:{m:02d}:{s:02d}"


def log_text(flown: Flown, columns: Columns) -> str:
    """Write the log of a flight."""
    oat = flown.oat_degc if columns.temperature == "degC" else flown.oat_degc * 1.8 + 32.0
    speeds = [flown.ias_kt / columns.speed / columns.airspeed, flown.gs_kt / columns.speed]
    ias, ground = reversed(speeds) if columns.swapped else speeds
    cells = [(ias, 1), (flown.altitude_ft, 0), (oat, 1), (ground, 1), (flown.track_deg, 0)]
    words = columns.speed_words
    heads = [f"IAS{words}", "pressure altitude (ft)", f"OAT ({columns.temperature_words})"]
    heads += [f"ground speed{words}", "track (deg true)"]
    if columns.with_tas:
        cells.append((flown.tas_kt / columns.speed, 0))
        heads.append(f"TAS{words}")
    texts = [[f"{value:.{places}f}" for value in values] for values, places in cells]
    lines = [",".join(["UTC time", *heads])]
    for second, row in enumerate(zip(*texts, strict=True), 36000):
        time = columns.clock.format(h=second // 3600, m=second // 60 % 60, s=second % 60)
        lines.append(",".join([time, *row]))
    return "\n".join(lines) + "\n"


@dataclass(frozen=True)
class Case:
    """Columns, and a word of the message that names what is wrong; none if nothing is.

    Attributes:
        keep: Runs that are solved; all if empty.
    """

    columns: Columns
    named: str = ""
    keep: tuple[int, ...] = ()


CASES = {
    "all right": Case(Columns()),
    "all right, true airspeed beside": Case(Columns(with_tas=True)),
    "degF right": Case(Columns(temperature="degF", temperature_words="degF")),
    "degF right, true airspeed beside": Case(
        Columns(temperature="degF", temperature_words="degF", with_tas=True)
    ),
    "mph right": Case(Columns(speed=MPH, speed_words=" (mph)")),
    "degC called degF": Case(Columns(temperature_words="degF"), "look like degC"),
    "degC called degF, true airspeed beside": Case(
        Columns(temperature_words="degF", with_tas=True), "look like degC"
    ),
    "degF called degC": Case(Columns(temperature="degF"), "look like degF"),
    "degF called degC, true airspeed beside": Case(
        Columns(temperature="degF", with_tas=True), "look like degF"
    ),
    "all speeds mph, no unit written": Case(
        Columns(speed=MPH, speed_words=""), "no unit is written"
    ),
    "all speeds km/h, no unit written": Case(
        Columns(speed=KMH, speed_words=""), "no unit is written"
    ),
    "all speeds kt, no unit written": Case(
        Columns(speed=1.0, speed_words=""), "no unit is written"
    ),
    "airspeed mph called kt": Case(Columns(airspeed=MPH), ALIKE),
    "airspeed kt called mph": Case(Columns(airspeed=1.0 / MPH), ALIKE),
    "all right, one run solved": Case(Columns(), keep=(1,)),
    "airspeed mph called kt, one run solved": Case(Columns(airspeed=MPH), ALIKE, keep=(1,)),
    "airspeed kt called mph, one run solved": Case(Columns(airspeed=1.0 / MPH), ALIKE, keep=(1,)),
    "airspeed and ground speed swapped": Case(Columns(swapped=True), "look swapped"),
    "clock without seconds": Case(Columns(clock="{h:02d}:{m:02d}"), "clock stands still"),
}


def outcome(path: Path, named: str, keep: tuple[int, ...] = ()) -> str:
    """Reduce a log and tell what became of it; a wrong one counts as caught only by its name."""
    try:
        asked = FlightDetails(
            airframe=None,
            air=stated_air(temperature_shows="probe"),
            choices=HandChoices(keep=keep),
        )
        done = preview_flight(path, asked, ReductionSettings())
    except FleetcalError as error:
        told = " ".join((error.message, error.hint, *error.warnings))
        return REFUSED if named in told else f"{REFUSED} for something else"
    wrong = [run for run in done.runs if not run.accepted]
    if len(wrong) == len(done.runs) and all(named in run.reason for run in wrong):
        return NOT_ACCEPTED
    words = named or "look"  # no warning of a unit is due where nothing is wrong
    doubts = (words, "check the units") if named == ALIKE else (words,)
    doubted = any(word in warning for word in doubts for warning in done.warnings)
    return WARNED if doubted else SILENT


def batch(
    case: Case, flights: int, seed: int, each: Callable[[int], Flown] = flight
) -> Counter[str]:
    """Count what becomes of flights written in one way."""
    found: Counter[str] = Counter()
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "log.csv"
        for number in range(flights):
            path.write_text(log_text(each(seed + number), case.columns))
            found[outcome(path, case.named, case.keep)] += 1
    return found


def main(flights: int) -> None:
    """Print one line a case."""
    print(
        f"{flights} flights a line; one standard error of a share is at most "
        f"{50.0 / np.sqrt(flights):.1f} %"
    )
    for name, case in CASES.items():
        found = batch(case, flights, 1000)
        shares = ", ".join(f"{what} {count}" for what, count in found.most_common())
        print(f"{name:42s} {shares}", flush=True)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 100)
