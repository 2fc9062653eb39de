"""The invented fleet: which airframe carries which equipment, and what is wrong with two."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Final

import numpy as np

from seed_demo.instruments import Instruments, drawn_instruments
from seed_demo.truth import (
    LEAK,
    MID_ADJUSTABLE_GROUP,
    MID_CONSTANT_GROUP,
    TAIL_BOOM_GROUP,
    WING_BOOM_GROUP,
    ErrorCurve,
    Group,
    drawn_departure,
    group_curve,
)

FLEET_SEED: Final = 20240311
LEAKING_TAG: Final = "C-05"
SWAPPED_TAG: Final = "C-24"
#: Every so many airframes one has a display of outside temperature.
AMBIENT_EVERY: Final = 4
CHANGED_TAG: Final = "C-12"
CHANGE_DATE: Final = date(2022, 3, 1)


@dataclass(frozen=True)
class Fit:
    """Equipment as the records have it, from a date on."""

    from_date: date
    group: Group
    pitot: str = "nose boom, shielded"
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class Airframe:
    """One aircraft: what the records say, and what is true of it."""

    tag: str
    fits: tuple[Fit, ...]
    departure: ErrorCurve
    instruments: Instruments
    temperature_shows: str = "probe"
    stated_recovery: float | None = None
    note: str = ""
    planted: str = ""

    def recorded_group(self, day: date) -> Group:
        """Return the group that the records put this aircraft in on a day."""
        return [fit for fit in self.fits if fit.from_date <= day][-1].group

    def true_curve(self, day: date) -> ErrorCurve:
        """Return the error curve that the aircraft really flies with on a day."""
        group = MID_CONSTANT_GROUP if self.tag == SWAPPED_TAG else self.recorded_group(day)
        curve = group_curve(group) + self.departure
        return curve + LEAK if self.tag == LEAKING_TAG else curve


_PLANTED: Final = {
    LEAKING_TAG: "static line leaks into the cabin",
    SWAPPED_TAG: "recorded with the wing boom, connected to the mid-fuselage pair",
}
_BUILT: Final = (
    (TAIL_BOOM_GROUP, 7, 2009),
    (MID_ADJUSTABLE_GROUP, 8, 2014),
    (MID_CONSTANT_GROUP, 4, 2019),
    (WING_BOOM_GROUP, 7, 2018),
)


def _fits(tag: str, group: Group, first: date) -> tuple[Fit, ...]:
    fit = Fit(first, group)
    if tag != CHANGED_TAG:
        return (fit,)
    return (fit, Fit(CHANGE_DATE, MID_CONSTANT_GROUP, note="new engine and propeller"))


def _airframe(number: int, group: Group, first_year: int, rng: np.random.Generator) -> Airframe:
    tag = f"C-{number:02d}"
    first = date(first_year + int(rng.integers(0, 4)), int(rng.integers(1, 13)), 1)
    departure = drawn_departure(rng)
    probe = float(np.clip(rng.normal(0.8, 0.025), 0.75, 0.85))
    ambient = number % AMBIENT_EVERY == 0
    return Airframe(
        tag=tag,
        fits=_fits(tag, group, first),
        departure=departure,
        instruments=drawn_instruments(
            0.0 if ambient else probe, np.random.default_rng((FLEET_SEED, number))
        ),
        temperature_shows="ambient" if ambient else "probe",
        stated_recovery=round(probe, 2) if number % AMBIENT_EVERY == 1 else None,
        note="invented aircraft",
        planted=_PLANTED.get(tag, ""),
    )


def build_fleet() -> tuple[Airframe, ...]:
    """Return the whole fleet, C-01 onwards; the same at every call."""
    rng = np.random.default_rng(FLEET_SEED)
    fleet: list[Airframe] = []
    for group, count, first_year in _BUILT:
        for _ in range(count):
            fleet.append(_airframe(len(fleet) + 1, group, first_year, rng))
    return tuple(fleet)
