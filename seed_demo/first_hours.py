"""One aircraft in its first test hours: three logs, a kneeboard sheet and a handbook's table.

``python -m seed_demo.first_hours FOLDER`` writes what is shipped in ``seed_demo/first-hours``. No
other aircraft has its static port, and the port's error is no polynomial: it has a kink where the
flaps' slot begins to draw. Everything is invented.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

import numpy as np

from seed_demo.air import KT, Array
from seed_demo.card import Card, drawn_box
from seed_demo.flight import Flight, Loading, fly
from seed_demo.hand import Hand
from seed_demo.instruments import drawn_instruments
from seed_demo.leg_sheet import leg_sheet_text
from seed_demo.recorder import FINE, log_text
from seed_demo.truth import ErrorCurve
from seed_demo.weather import SURFACE_WIND_SHARE, drawn_humidity, drawn_weather

SEED: Final = 31
FOLDER: Final = Path(__file__).parent / "first-hours"
#: Airspeeds of each flight's boxes, kt.
SPEEDS_KT: Final = ((95.0, 80.0, 65.0), (110.0, 90.0, 72.0, 60.0), (120.0, 100.0, 85.0))
DAYS: Final = (
    datetime(2026, 4, 18, 8, 12, tzinfo=UTC),
    datetime(2026, 4, 25, 7, 40, tzinfo=UTC),
    datetime(2026, 5, 9, 8, 5, tzinfo=UTC),
)
#: The handbook's table, flown with a port further forward, and its speeds, IAS in kt.
HANDBOOK: Final = ((50, 53), (60, 62), (70, 71), (80, 80), (90, 89), (100, 98), (120, 117))
HANDBOOK_SPEEDS: Final = (("stall", 44), ("glide", 62), ("approach", 60), ("never exceed", 138))


@dataclass(frozen=True)
class KinkedCurve(ErrorCurve):
    """A straight line in lift with a kink."""

    kink: float = 0.0
    kink_s: float = 0.3

    def kappa(self, s: Array) -> Array:
        """Return kappa (no unit) at s (no unit), any shape."""
        return super().kappa(s) + self.kink * np.maximum(s - self.kink_s, 0.0)


PORT: Final = KinkedCurve(level=-0.034, tilt=0.06, kink=0.16)


def flights() -> tuple[Flight, ...]:
    """Fly the three flights; the same at every call."""
    instruments = drawn_instruments(0.8, np.random.default_rng((SEED, 0)))
    flown = []
    for number, speeds in enumerate(SPEEDS_KT, start=1):
        rng = np.random.default_rng((SEED, number))
        weather = replace(drawn_weather(rng), humidity=drawn_humidity(rng))
        card = Card(
            boxes=tuple(drawn_box(rng, speed) for speed in speeds),
            altitude_ft=float(rng.choice((3500.0, 4000.0, 4500.0))),
            first_heading_deg=float(rng.integers(0, 36)) * 10.0,
            runway_heading_deg=float(np.degrees(weather.wind_from_rad)),
            surface_wind_kt=weather.wind_speed_mps * SURFACE_WIND_SHARE / KT,
        )
        flown.append(
            fly(
                card,
                PORT,
                weather,
                loading=Loading(560.0 - 15.0 * number, 14.0 / 3600.0),
                hand=Hand(),
                instruments=instruments,
                rng=rng,
            )
        )
    return tuple(flown)


def texts() -> dict[str, str]:
    """Return every shipped file by name."""
    flown = flights()
    files = {
        f"flight-{number}.csv": log_text(FINE, flight, day)
        for number, (flight, day) in enumerate(zip(flown, DAYS, strict=True), start=1)
    }
    files["kneeboard.csv"] = leg_sheet_text(flown[0])
    files["handbook.csv"] = _table(("ias_kt", "cas_kt"), HANDBOOK)
    files["handbook-speeds.csv"] = _table(("speed", "ias_kt"), HANDBOOK_SPEEDS)
    return files


def _table(heading: tuple[str, ...], rows: tuple[tuple[object, ...], ...]) -> str:
    return "".join(",".join(map(str, row)) + "\n" for row in (heading, *rows))


def write(folder: Path) -> None:
    """Write the files; those of the same names are replaced."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, text in texts().items():
        (folder / name).write_text(text, encoding="utf-8")


if __name__ == "__main__":
    write(Path(sys.argv[1]) if sys.argv[1:] else FOLDER)
