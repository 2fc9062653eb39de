"""The pilot's intention for a sortie, second by second: take-off, climb, boxes of legs, landing."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final

import numpy as np

from seed_demo.air import Array

TURN_DEG_PER_S: Final = 3.0
SPEED_CHANGE_KT_PER_S: Final = 0.7
CLIMB_FT_PER_MIN: Final = 700.0
DESCENT_FT_PER_MIN: Final = 600.0
CLIMB_KT: Final = 75.0
DESCENT_KT: Final = 95.0
FIELD_FT: Final = 300.0
LIFT_OFF_KT: Final = 55.0
SETTLE_S: Final = 12
SMOOTHING_S: Final = 7
NO_BOX: Final = -1
NO_POWER: Final = -1.0
IDLE_POWER: Final = -2.0
POWER_SETTLES_S: Final = 16


@dataclass(frozen=True)
class Box:
    """Legs at one indicated airspeed: heading changes (deg) between them, and their length (s)."""

    ias_kt: float
    turns_deg: tuple[float, ...]
    leg_s: int


@dataclass(frozen=True, kw_only=True)
class Tooth:
    """A climb and a glide through one block, flown on one heading and then on the opposite one.

    `power` is the number of the power state of the climb; the seconds are what the
    pilot reckons with, the flight itself decides how high that leads.
    """

    power: int
    climb_ias_kt: float
    climb_s: float
    glide_ias_kt: float
    glide_s: float


@dataclass(frozen=True, kw_only=True)
class Card:
    """What a sortie is to be: the boxes, at one indicated altitude (ft), from one first heading.

    Sawtooth climbs and glides follow, between that altitude and `top_ft`.
    """

    boxes: tuple[Box, ...]
    altitude_ft: float
    first_heading_deg: float
    runway_heading_deg: float
    surface_wind_kt: float
    teeth: tuple[Tooth, ...] = ()
    top_ft: float = 0.0
    saw_heading_deg: float = 0.0


@dataclass(frozen=True, kw_only=True)
class Profile:
    """The intention as arrays (n,), one value a second; box and leg are NO_BOX outside legs.

    `power` is the number of a power state, IDLE_POWER, or NO_POWER where the pilot
    sets whatever the intended altitude asks for.
    """

    ias_kt: Array
    altitude_ft: Array
    heading_deg: Array
    airborne: Array
    box: Array
    leg: Array
    power: Array


@dataclass
class _Track:
    """The lines of a profile while they are being drawn."""

    ias_kt: float
    altitude_ft: float
    heading_deg: float
    rows: list[Array] = field(default_factory=list)

    def go(
        self,
        seconds: float,
        *,
        ias_kt: float | None = None,
        altitude_ft: float | None = None,
        turn_deg: float = 0.0,
        airborne: bool = True,
        leg: tuple[int, int] = (NO_BOX, NO_BOX),
        power: float = NO_POWER,
    ) -> None:
        """Move in a straight line of the three values to new ones, in whole seconds."""
        count = max(1, round(seconds))
        ends = (
            self.ias_kt if ias_kt is None else ias_kt,
            self.altitude_ft if altitude_ft is None else altitude_ft,
            self.heading_deg + turn_deg,
        )
        rows = np.empty((count, 7))
        share = np.arange(1, count + 1) / count
        for column, (start, end) in enumerate(
            zip((self.ias_kt, self.altitude_ft, self.heading_deg), ends, strict=True)
        ):
            rows[:, column] = start + (end - start) * share
        rows[:, 3] = airborne
        rows[:, 4:6] = leg
        rows[:, 6] = power
        self.rows.append(rows)
        self.ias_kt, self.altitude_ft, self.heading_deg = ends

    def turn(self, turn_deg: float) -> None:
        """Turn at standard rate."""
        self.go(abs(turn_deg) / TURN_DEG_PER_S, turn_deg=turn_deg)

    def turn_onto(self, heading_deg: float) -> None:
        """Turn the shorter way onto a heading."""
        self.turn((heading_deg - self.heading_deg + 180.0) % 360.0 - 180.0)

    def change_speed(self, ias_kt: float) -> None:
        """Accelerate or slow down in level flight."""
        self.go(abs(ias_kt - self.ias_kt) / SPEED_CHANGE_KT_PER_S, ias_kt=ias_kt)


def _fly_box(track: _Track, number: int, box: Box) -> None:
    track.change_speed(box.ias_kt)
    for leg, turn in enumerate((0.0, *box.turns_deg)):
        track.turn(turn)
        track.go(SETTLE_S)
        track.go(box.leg_s, leg=(number, leg))
        # The rounding of the corners must not reach into the leg.
        track.go(SMOOTHING_S // 2)


def _fly_tooth(track: _Track, tooth: Tooth, base_ft: float, top_ft: float) -> None:
    for _ in range(2):
        track.change_speed(tooth.climb_ias_kt)
        track.go(POWER_SETTLES_S)
        track.go(tooth.climb_s, altitude_ft=top_ft, power=tooth.power)
        track.change_speed(tooth.glide_ias_kt)
        track.go(POWER_SETTLES_S)
        track.go(tooth.glide_s, altitude_ft=base_ft, power=IDLE_POWER)
        track.go(POWER_SETTLES_S)
        track.turn(180.0)


def _take_off_and_climb(track: _Track, card: Card) -> None:
    # Into the wind the air already passes at the speed of the wind while the wheels stand still.
    track.go(150.0, airborne=False)
    track.go(20.0, ias_kt=LIFT_OFF_KT)
    track.go(15.0, ias_kt=CLIMB_KT, altitude_ft=FIELD_FT + 80.0)
    climb_s = (card.altitude_ft - track.altitude_ft) / CLIMB_FT_PER_MIN * 60.0
    track.go(climb_s, altitude_ft=card.altitude_ft)


def _come_home(track: _Track, card: Card) -> None:
    track.change_speed(DESCENT_KT)
    low = FIELD_FT + 1000.0
    track.go((card.altitude_ft - low) / DESCENT_FT_PER_MIN * 60.0, altitude_ft=low)
    track.turn_onto(card.runway_heading_deg)
    track.go(60.0, ias_kt=65.0)
    track.go(110.0, altitude_ft=FIELD_FT)
    track.go(5.0, ias_kt=LIFT_OFF_KT)
    track.go(25.0, ias_kt=card.surface_wind_kt)
    track.go(100.0, airborne=False)


def smoothed(line: Array) -> Array:
    """Return a line (n,) at 1 Hz with its corners rounded."""
    padded = np.pad(line, SMOOTHING_S // 2, mode="edge")
    return np.convolve(padded, np.full(SMOOTHING_S, 1.0 / SMOOTHING_S), mode="valid")


def draw_profile(card: Card) -> Profile:
    """Return the pilot's intention for a whole sortie, with rounded corners.

    Returns:
        From the first roll to the last, one value a second.
    """
    track = _Track(card.surface_wind_kt, FIELD_FT, card.runway_heading_deg)
    _take_off_and_climb(track, card)
    track.turn_onto(card.first_heading_deg)
    for number, box in enumerate(card.boxes):
        _fly_box(track, number, box)
        track.turn(box.turns_deg[0])
    if card.teeth:
        track.turn_onto(card.saw_heading_deg)
    for tooth in card.teeth:
        _fly_tooth(track, tooth, card.altitude_ft, card.top_ft)
    _come_home(track, card)
    rows = np.concatenate(track.rows)
    return Profile(
        ias_kt=smoothed(rows[:, 0]),
        altitude_ft=smoothed(rows[:, 1]),
        heading_deg=smoothed(rows[:, 2]),
        airborne=rows[:, 3],
        box=rows[:, 4],
        leg=rows[:, 5],
        power=rows[:, 6],
    )


def drawn_box(rng: np.random.Generator, ias_kt: float) -> Box:
    """Draw one box: mostly four legs at right angles, some with a repeated one, some of three."""
    side = float(rng.choice((-1.0, 1.0)))
    shapes = ((90.0,) * 3, (90.0,) * 4, (120.0,) * 2)
    turns = shapes[int(rng.choice(3, p=(0.65, 0.2, 0.15)))]
    flown_kt = ias_kt + float(rng.normal(0.0, 1.0))
    return Box(flown_kt, tuple(side * turn for turn in turns), int(rng.integers(60, 76)))
