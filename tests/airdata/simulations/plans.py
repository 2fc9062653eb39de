"""What the pilot means to fly: boxes of legs, or full circles, at one speed after another."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from seed_demo.air import KT, Array
from tests.airdata.simulations.air import ALTITUDE_M, STEP_S

TURN_RAD_PER_S = np.radians(3.0)
ROLL_IN_S = 4.0
SETTLE_S = 14.0
SPEED_CHANGE_S = 30.0
BOX = (0.0, 90.0, 180.0, 270.0)
TRIANGLE = (0.0, 120.0, 240.0)


@dataclass(frozen=True, kw_only=True)
class Plan:
    """The intention at every `STEP_S`, arrays of shape (samples,) or (flights, samples).

    Attributes:
        airspeed_mps: Indicated.
        heading_rad: From the first heading on, or, where each flight has a plan of its own, from
            north.
        altitude_m: Pressure altitude.
        run, leg: From 0; -1 where nothing is measured. A circle is one leg. Shape (samples,).
    """

    airspeed_mps: Array
    heading_rad: Array
    altitude_m: Array
    run: Array
    leg: Array

    @property
    def runs(self) -> int:
        """Number of runs."""
        return int(self.run.max()) + 1


def box_plan(
    airspeeds_kt: tuple[float, ...],
    tracks_deg: tuple[float, ...] = BOX,
    leg_s: float = 60.0,
    *,
    alternating: bool = False,
    turned_deg: float = 0.0,
) -> Plan:
    """Return a run of legs at each airspeed.

    Args:
        alternating: Whether every second run flies its headings backwards.
        turned_deg: By which each run is turned on from the one before.
    """
    lines = _Lines(airspeeds_kt[0] * KT)
    for run, airspeed_kt in enumerate(airspeeds_kt):
        lines.fly(SPEED_CHANGE_S, airspeed_mps=airspeed_kt * KT)
        backwards = alternating and run % 2 == 1
        for leg, track_deg in enumerate(tracks_deg[:: -1 if backwards else 1]):
            lines.turn_onto(np.radians(track_deg + run * turned_deg))
            lines.fly(SETTLE_S)
            lines.fly(leg_s, run=run, leg=leg)
    return lines.plan()


def circle_plan(airspeeds_kt: tuple[float, ...], circles: float = 2.0) -> Plan:
    """Return full circles at standard rate at each airspeed."""
    lines = _Lines(airspeeds_kt[0] * KT)
    whole_s = 2.0 * np.pi / TURN_RAD_PER_S
    for run, airspeed_kt in enumerate(airspeeds_kt):
        lines.fly(SPEED_CHANGE_S, airspeed_mps=airspeed_kt * KT)
        lines.fly(SETTLE_S, turn_rad=SETTLE_S * TURN_RAD_PER_S)
        lines.fly(circles * whole_s, turn_rad=circles * 2.0 * np.pi, run=run, leg=0)
    return lines.plan()


class _Lines:
    def __init__(self, airspeed_mps: float) -> None:
        self._airspeed, self._heading = airspeed_mps, 0.0
        self._rows: list[Array] = []

    def fly(
        self,
        seconds: float,
        airspeed_mps: float | None = None,
        turn_rad: float = 0.0,
        run: int = -1,
        leg: int = -1,
    ) -> None:
        count = round(seconds / STEP_S)
        share = np.arange(1, count + 1) / count
        wanted = self._airspeed if airspeed_mps is None else airspeed_mps
        self._rows.append(
            np.stack(
                [
                    self._airspeed + (wanted - self._airspeed) * share,
                    self._heading + turn_rad * share,
                    np.full(count, run, float),
                    np.full(count, leg, float),
                ]
            )
        )
        self._airspeed, self._heading = wanted, self._heading + turn_rad

    def turn_onto(self, heading_rad: float) -> None:
        turn = (heading_rad - self._heading + np.pi) % (2.0 * np.pi) - np.pi
        if turn:
            self.fly(abs(turn) / TURN_RAD_PER_S, turn_rad=turn)

    def plan(self) -> Plan:
        airspeed, heading, run, leg = np.concatenate(self._rows, axis=1)
        level = np.full_like(airspeed, ALTITUDE_M)
        return Plan(
            airspeed_mps=airspeed,
            heading_rad=followed(heading, ROLL_IN_S),
            altitude_m=level,
            run=run.astype(int),
            leg=leg.astype(int),
        )


def followed(line: Array, seconds: float) -> Array:
    """Return the mean of a line (samples,) over the last seconds: its corners, rounded."""
    wide = round(seconds / STEP_S)
    padded = np.pad(line, (wide - 1, 0), mode="edge")
    return np.convolve(padded, np.full(wide, 1.0 / wide), mode="valid")
