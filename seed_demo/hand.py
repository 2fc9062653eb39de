"""How well a sortie is flown by hand: what wanders and what is hunted after."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from seed_demo.air import Array
from seed_demo.gusts import following, remembering
from seed_demo.instruments import STEP_S

HUNTING_S: Final = 25.0
HAND_MEMORY_S: Final = 18.0
HAND_SMOOTHING_S: Final = 6.0


@dataclass(frozen=True, kw_only=True)
class Hand:
    """How well a sortie is flown and measured: standard deviations, in the units named.

    Hunting is a swing to either side of what is held, by the figure given.
    """

    airspeed_hold_kt: float = 0.8
    altitude_hold_ft: float = 15.0
    heading_hold_deg: float = 0.6
    gps_velocity_mps: float = 0.05
    airspeed_hunting_kt: float = 0.3
    heading_hunting_deg: float = 0.5


PERFECT_HAND: Final = Hand(
    airspeed_hold_kt=0.0,
    altitude_hold_ft=0.0,
    heading_hold_deg=0.0,
    gps_velocity_mps=0.0,
    airspeed_hunting_kt=0.0,
    heading_hunting_deg=0.0,
)


def by_hand(rng: np.random.Generator, count: int, sd: float) -> Array:
    """Return the smooth wandering (n,) of something held by hand, of a standard deviation."""
    memory = HAND_MEMORY_S + HAND_SMOOTHING_S
    # The lag takes part of the scatter away; what is put in is larger by that much.
    put_in = sd * np.sqrt(memory / HAND_MEMORY_S)
    wander = remembering(rng, (count,), put_in, HAND_MEMORY_S, STEP_S)
    return following(wander, HAND_SMOOTHING_S, STEP_S)


def hunting(rng: np.random.Generator, count: int, size: float) -> Array:
    """Return a swing (n,) to either side of what is held."""
    period = HUNTING_S * float(rng.uniform(0.7, 1.4))
    phase = float(rng.uniform(0.0, 2.0 * np.pi))
    return np.asarray(size * np.sin(2.0 * np.pi * np.arange(count) / period + phase))


@dataclass(frozen=True)
class HandErrors:
    """What a hand makes of an intention, arrays (n,) in the units named."""

    airspeed_kt: Array
    altitude_ft: Array
    heading_deg: Array


def hand_errors(hand: Hand, count: int, rng: np.random.Generator) -> HandErrors:
    """Draw how a hand errs over a flight."""
    return HandErrors(
        by_hand(rng, count, hand.airspeed_hold_kt) + hunting(rng, count, hand.airspeed_hunting_kt),
        by_hand(rng, count, hand.altitude_hold_ft),
        by_hand(rng, count, hand.heading_hold_deg) + hunting(rng, count, hand.heading_hunting_deg),
    )
