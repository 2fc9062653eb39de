"""Error of true airspeed against the Cramer-Rao bound and against reading single samples."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fleetcal.airdata.atmosphere import Array
from fleetcal.airdata.flight_pieces import Stretch, cut
from fleetcal.airdata.reading import true_airspeed_for
from fleetcal.airdata.solve_pieces import solve_pieces
from fleetcal.airdata.wind_strengths import AirPrior
from fleetcal.units import MPS_PER_KT as KT
from tests.airdata.simulations.flown import (
    GUST_MEMORY_S,
    KAPPA,
    RECOVERY,
    TEMPERATURE_K,
    Air,
    Flown,
    fly,
    leg_times,
    readings,
    recorded,
)
from tests.airdata.wind_circle import wind_circle

BOX = (0.0, 90.0, 180.0, 270.0)
MOVING = AirPrior()
ORDERS = {
    "box": BOX,
    "opposite tracks in pairs": (0.0, 180.0, 90.0, 270.0),
    "box, first track repeated": (*BOX, 0.0),
    "box flown forth and back": (*BOX, *BOX[::-1]),
}


@dataclass(frozen=True)
class Efficiency:
    """Root-mean-square errors of true airspeed in knots.

    `single_sample` is the circle through one whole-number sample a leg, taken as
    the true airspeed of the run.
    """

    solved: float
    bound: float
    single_sample: float
    bias: float


def legs(
    rng: np.random.Generator,
    flights: int,
    tracks_deg: tuple[float, ...],
    air: Air,
    leg_s: int = 60,
    turn_s: int = 35,
    prior: AirPrior = MOVING,
) -> Efficiency:
    """Solve runs of legs and compare; the bound is that of a wind known not to move."""
    count = len(tracks_deg)
    time_s = leg_times(count, leg_s, turn_s)
    flown = fly(rng, flights, time_s, np.radians(np.repeat(tracks_deg, leg_s)), air)
    east, north = recorded(flown.east_mps, flown.north_mps)

    indicated = flown.indicated_mps.reshape(flights, count, leg_s).mean(axis=2)
    slope = _slope(indicated)
    edges = [slice(leg * leg_s, (leg + 1) * leg_s) for leg in range(count)]
    kappa = [
        _kappa(time_s, east[i], north[i], flown.indicated_mps[i], edges, prior)
        for i in range(flights)
    ]
    error = (np.array(kappa) - KAPPA) * slope.mean(axis=1)
    single = _single_samples(flown, count, leg_s) - flown.true_mps.mean(axis=1)
    bound = np.mean([_bound(flown, i, air, slope[i].mean()) ** 2 for i in range(40)])
    return Efficiency(
        float(np.sqrt(np.mean(error**2)) / KT),
        float(np.sqrt(bound) / KT),
        float(np.sqrt(np.mean(single**2)) / KT),
        float(np.mean(error) / KT),
    )


def turn(rng: np.random.Generator, flights: int, air: Air) -> Efficiency:
    """Solve one standard-rate turn of 360 degrees."""
    time_s = np.arange(120.0)
    flown = fly(rng, flights, time_s, np.radians(3.0 * time_s), air)
    east, north = recorded(flown.east_mps, flown.north_mps)
    slope = _slope(flown.indicated_mps).mean(axis=1)
    entire = [slice(None)]
    kappa = [
        _kappa(time_s, east[i], north[i], flown.indicated_mps[i], entire, MOVING)
        for i in range(flights)
    ]
    error = (np.array(kappa) - KAPPA) * slope
    bound = np.mean([_bound(flown, i, air, slope[i]) ** 2 for i in range(40)])
    return Efficiency(
        float(np.sqrt(np.mean(error**2)) / KT),
        float(np.sqrt(bound) / KT),
        np.nan,
        float(np.mean(error) / KT),
    )


def _kappa(
    time_s: Array,
    east: Array,
    north: Array,
    indicated: Array,
    parts: list[slice],
    prior: AirPrior,
) -> float:
    stretches = [
        Stretch(
            group=0,
            time_s=time_s[part],
            east_mps=east[part],
            north_mps=north[part],
            readings=readings(indicated[part]),
        )
        for part in parts
    ]
    return float(solve_pieces(cut(stretches), prior).kappa[0])


def _slope(indicated_mps: Array) -> Array:
    static, impact = readings(indicated_mps).pressures()
    return true_airspeed_for(
        static, impact, np.array(TEMPERATURE_K), np.array(RECOVERY), np.array(KAPPA)
    )[1]


def _single_samples(flown: Flown, count: int, leg_s: int) -> Array:
    """True airspeed by the circle through one sample a leg, whole knots and degrees."""
    middle = np.arange(count) * leg_s + leg_s // 2
    east, north = flown.east_mps[:, middle], flown.north_mps[:, middle]
    speed = np.round(np.hypot(east, north) / KT) * KT
    track = np.radians(np.round(np.degrees(np.arctan2(east, north))))
    circle = wind_circle(speed * np.sin(track), speed * np.cos(track), np.ones_like(speed))
    return circle.radius_mps


def _bound(flown: Flown, flight: int, air: Air, slope: float) -> float:
    """Cramer-Rao bound of true airspeed: every sample, the gusts' exact covariance.

    Only the gust along the air vector tells anything, as the heading is not known.
    Rounding adds a variance of step^2/12 along the air vector.
    """
    heading = flown.heading_rad[flight]
    along = np.stack([np.sin(heading), np.cos(heading)])
    apart = np.abs(flown.time_s[:, None] - flown.time_s[None])
    covariance = (along.T @ along) * (air.gust_kt * KT) ** 2 * np.exp(-apart / GUST_MEMORY_S)
    covariance[np.diag_indices(len(heading))] += (0.1 * KT) ** 2 / 12.0
    jacobian = np.column_stack([along[0], along[1], np.full(len(heading), slope)])
    information = jacobian.T @ np.linalg.solve(covariance, jacobian)
    return float(np.sqrt(np.linalg.inv(information)[2, 2]) * slope)
