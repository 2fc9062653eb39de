"""What an owner means to fly who tests nothing: a climb, a cruise, something to look at, circuits.

Everything is drawn for each flight: heights, courses, airspeeds, bank and how long.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from seed_demo.air import FT, GRAVITY, KT, Array
from tests.airdata.simulations.air import STEP_S
from tests.airdata.simulations.plans import ROLL_IN_S, followed

FT_PER_MIN = FT / 60.0
PITCH_OVER_S = 8.0
SPEED_CHANGE_KT_PER_S = 0.6
FIRST_HEIGHT_FT = 200.0
LEAST_COURSE_S = 120.0


@dataclass(frozen=True, kw_only=True)
class Stretch:
    """A part of a flight at one intended airspeed: what it is for, and when, in s from the first.

    `heading_deg` is that of its end, and a stretch of ``"turn"`` turns onto it.
    """

    purpose: str
    start_s: float
    stop_s: float
    airspeed_kt: float
    heading_deg: float


@dataclass(frozen=True, kw_only=True)
class Itinerary:
    """The intention at every `STEP_S`, arrays (samples,), and its stretches.

    Indicated airspeed, heading from north, pressure altitude; `field_m` is the pressure
    altitude of the field.
    """

    airspeed_mps: Array
    heading_rad: Array
    altitude_m: Array
    field_m: float
    stretches: tuple[Stretch, ...]


def draw_itinerary(rng: np.random.Generator, field_m: float, runway_deg: float) -> Itinerary:
    """Draw what one flight of about 50 minutes is to be, without take-off run and landing.

    Args:
        rng: Numpy Generator.
        field_m: Pressure altitude of the field.
        runway_deg: Heading of take-off and approach, into some wind.
    """
    pen = _Pen(field_m, float(rng.uniform(75.0, 83.0)), runway_deg, rng)
    cruise_ft = float(rng.uniform(2000.0, 5000.0))
    circuits = int(rng.integers(1, 3))
    _climb_out(pen, rng, cruise_ft)
    # what is left of 45 to 55 minutes after the descent and the circuits
    home_s = 60.0 * (cruise_ft - 900.0) / 450.0 + 420.0 * circuits + 90.0
    slow_s = float(rng.uniform(180.0, 420.0))
    cruise_s = 60.0 * float(rng.uniform(45.0, 55.0)) - pen.now_s - home_s - slow_s
    _cruise(pen, rng, max(cruise_s, 480.0), slow_s)
    _come_down(pen, rng, runway_deg)
    for circuit in range(circuits):
        _circuit(pen, rng, runway_deg, last=circuit == circuits - 1)
    return pen.itinerary()


class _Pen:
    def __init__(
        self, field_m: float, airspeed_kt: float, heading_deg: float, rng: np.random.Generator
    ) -> None:
        self._rng = rng
        self.airspeed_kt, self.heading_deg, self.height_ft = airspeed_kt, heading_deg, 200.0
        self.now_s = 0.0
        self._field_m = field_m
        self._rows: list[Array] = []
        self._stretches: list[Stretch] = []

    def fly(
        self,
        purpose: str,
        seconds: float,
        airspeed_kt: float | None = None,
        height_ft: float | None = None,
        turn_deg: float = 0.0,
    ) -> None:
        """Move in a straight line of airspeed, height and heading to new ones."""
        count = max(1, round(seconds / STEP_S))
        share = np.arange(1, count + 1) / count
        begin = np.array([self.airspeed_kt, self.heading_deg, self.height_ft])
        end = np.array(
            [
                self.airspeed_kt if airspeed_kt is None else airspeed_kt,
                self.heading_deg + turn_deg,
                self.height_ft if height_ft is None else height_ft,
            ]
        )
        self._rows.append(begin[:, None] + np.outer(end - begin, share))
        self.airspeed_kt, self.heading_deg, self.height_ft = (float(value) for value in end)
        start_s, self.now_s = self.now_s, self.now_s + count * STEP_S
        self._stretches.append(
            Stretch(
                purpose=purpose,
                start_s=start_s,
                stop_s=self.now_s,
                airspeed_kt=self.airspeed_kt,
                heading_deg=self.heading_deg % 360.0,
            )
        )

    def speed_up(self, airspeed_kt: float) -> None:
        """Change the airspeed in level flight."""
        seconds = abs(airspeed_kt - self.airspeed_kt) / SPEED_CHANGE_KT_PER_S
        self.fly("change of speed", seconds, airspeed_kt=airspeed_kt)

    def turn(self, turn_deg: float, bank_deg: float, height_ft: float | None = None) -> None:
        """Turn with about this bank."""
        rate = GRAVITY * np.tan(np.radians(bank_deg)) / (1.05 * self.airspeed_kt * KT)
        seconds = max(float(np.radians(abs(turn_deg)) / rate), ROLL_IN_S)
        self.fly("turn", seconds, turn_deg=turn_deg, height_ft=height_ft)

    def turn_onto(self, heading_deg: float, bank_deg: float) -> None:
        """Turn the shorter way onto a heading."""
        self.turn((heading_deg - self.heading_deg + 180.0) % 360.0 - 180.0, bank_deg)

    def near(self, low: float, high: float) -> float:
        """Draw a number."""
        return float(self._rng.uniform(low, high))

    def itinerary(self) -> Itinerary:
        airspeed, heading, height = np.concatenate(self._rows, axis=1)
        return Itinerary(
            airspeed_mps=airspeed * KT,
            heading_rad=followed(np.radians(heading), ROLL_IN_S),
            altitude_m=self._field_m + followed(followed(height, PITCH_OVER_S), PITCH_OVER_S) * FT,
            field_m=self._field_m,
            stretches=tuple(self._stretches),
        )


def _climb_out(pen: _Pen, rng: np.random.Generator, cruise_ft: float) -> None:
    rate = float(rng.uniform(400.0, 650.0))
    first = pen.near(500.0, 800.0)
    pen.fly("climb", 60.0 * (first - pen.height_ft) / rate, height_ft=first)
    pen.turn(pen.near(-120.0, 120.0), pen.near(15.0, 20.0), first + 100.0)
    half = first + 100.0 + pen.near(0.4, 0.7) * (cruise_ft - first - 100.0)
    pen.fly("climb", 60.0 * (half - pen.height_ft) / rate, height_ft=half)
    if rng.uniform() < 0.4:
        pen.turn(pen.near(-90.0, 90.0), pen.near(12.0, 20.0), half + 60.0)
    pen.fly("climb", 60.0 * (cruise_ft - pen.height_ft) / rate, height_ft=cruise_ft)


def _cruise_speeds(rng: np.random.Generator, courses: int) -> list[float]:
    """Return an airspeed for each course: two on most flights, one on the others."""
    slower, faster = float(rng.uniform(97.0, 104.0)), float(rng.uniform(112.0, 118.0))
    kind = rng.uniform()
    if kind < 0.1:
        return [slower] * courses
    if kind < 0.2:
        return [faster] * courses
    speeds = [slower, faster, *(float(rng.uniform(100.0, 118.0)) for _ in range(courses - 2))]
    return [speeds[i] for i in rng.permutation(courses)]


def _cruise(pen: _Pen, rng: np.random.Generator, cruise_s: float, slow_s: float) -> None:
    courses = int(rng.integers(2, 6))
    speeds = _cruise_speeds(rng, courses)
    shares = rng.dirichlet(np.full(courses, 3.0))
    lengths = LEAST_COURSE_S + shares * max(cruise_s - courses * LEAST_COURSE_S, 0.0)
    slow_before = int(rng.integers(1, courses + 1))
    for course, (speed, seconds) in enumerate(zip(speeds, lengths, strict=True)):
        if course == slow_before:
            _look_at_something(pen, rng, slow_s)
        if course > 0:
            side = float(rng.choice((-1.0, 1.0)))
            pen.turn(side * pen.near(30.0, 180.0), pen.near(15.0, 30.0))
        pen.speed_up(speed)
        pen.fly("cruise", float(seconds))
    if slow_before == courses:
        _look_at_something(pen, rng, slow_s)


def _look_at_something(pen: _Pen, rng: np.random.Generator, slow_s: float) -> None:
    pen.speed_up(pen.near(77.0, 84.0))
    side, bank = float(rng.choice((-1.0, 1.0))), pen.near(15.0, 30.0)
    shares = rng.dirichlet(np.full(3, 4.0))
    turns = rng.choice((45.0, 90.0, 180.0, 360.0), 2)
    for share, turn_deg in zip(shares, (*turns, 0.0), strict=True):
        pen.fly("slow", float(share) * slow_s)
        if turn_deg:
            pen.turn(side * turn_deg, bank)


def _come_down(pen: _Pen, rng: np.random.Generator, runway_deg: float) -> None:
    pen.turn(pen.near(-120.0, 120.0), pen.near(15.0, 25.0))
    pen.speed_up(pen.near(93.0, 108.0))
    low = pen.near(800.0, 1000.0)
    middle = 0.5 * (pen.height_ft + low)
    rate = float(rng.uniform(350.0, 550.0))
    pen.fly("descent", 60.0 * (pen.height_ft - middle) / rate, height_ft=middle)
    pen.turn(pen.near(-90.0, 90.0), pen.near(15.0, 25.0))
    pen.fly("descent", 60.0 * (pen.height_ft - low) / rate, height_ft=low)
    pen.speed_up(pen.near(77.0, 83.0))
    pen.turn_onto(runway_deg, 20.0)  # along the runway, to join the circuit overhead
    pen.fly("circuit", 30.0)


def _circuit(pen: _Pen, rng: np.random.Generator, runway_deg: float, *, last: bool) -> None:
    """Fly round once: four turns, an approach, and a low pass."""
    high, side = pen.height_ft, float(rng.choice((-1.0, 1.0)))
    bank, downwind_kt, final_kt = pen.near(15.0, 25.0), pen.near(77.0, 83.0), pen.near(63.0, 67.0)
    pen.turn(side * 90.0, bank)
    pen.fly("circuit", pen.near(20.0, 40.0))
    pen.turn(side * 90.0, bank)
    pen.speed_up(downwind_kt)
    pen.fly("circuit", pen.near(70.0, 120.0))
    pen.speed_up(pen.near(68.0, 74.0))
    pen.turn(side * 90.0, bank)
    pen.fly("circuit", pen.near(20.0, 40.0), height_ft=high - 200.0)
    pen.turn(side * 90.0, bank, high - 300.0)
    pen.speed_up(final_kt)
    low = pen.near(150.0, 250.0)
    pen.fly("approach", 60.0 * (pen.height_ft - low) / pen.near(350.0, 500.0), height_ft=low)
    pen.fly("low pass", 2.0 * PITCH_OVER_S + ROLL_IN_S)
    if not last:
        pen.speed_up(pen.near(72.0, 78.0))
        pen.fly("climb", 60.0 * (high - low) / pen.near(450.0, 650.0), height_ft=high)
        pen.turn_onto(runway_deg, bank)
