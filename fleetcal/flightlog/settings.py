"""What counts as a steady leg and what legs make up a run.

The figures are common practice for airspeed checks by straight legs, no
published source; every one of them can be set by the caller.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from fleetcal.units import M_PER_FT, MPS_PER_KT, RAD_PER_DEG

_FTMIN: Final = M_PER_FT / 60.0


@dataclass(frozen=True, kw_only=True)
class LegSettings:
    """Tolerances that a stretch of flight must meet to be used as one leg.

    The rates and the bank only cut the flight into candidate stretches. What is
    accepted is decided by drift (fitted slope times duration) and scatter
    (standard deviation about the fitted line) over the whole leg.

    Attributes:
        slowest_mps: Below this airspeed the aircraft is taken to be on the ground (40 kt).
        shortest_s, longest_s: Least duration of a leg (25 s); a longer straight than `longest_s`
            (180 s) is cut into equal pieces, back to back.
        fewest_samples: Least number of complete samples in a leg (5).
        settle_s: Time left out after a turn, climb or speed change (8 s).
        smoothing_s: Width of the sliding line fit that yields the rates (10 s; at least five
            samples are used in a slow log).
        turn_rate_radps, climb_rate_mps, acceleration_mps2, bank_rad: Rates above which a manoeuvre
            is seen: 0.6 deg/s, 250 ft/min, 0.4 kt/s, 10 deg.
        airspeed_drift_mps, airspeed_scatter_mps: 3 kt and 2.5 kt.
        altitude_drift_m, altitude_scatter_m: 80 ft and 50 ft.
        track_drift_rad, track_scatter_rad: 5 deg and 3 deg.
        ground_speed_drift_mps, ground_speed_scatter_mps: 6 kt and 4 kt: wider than for airspeed, as
            the wind has its share.
        leg_climb_rate_mps, leg_acceleration_mps2, leg_turn_rate_radps: Largest fitted slope over a
            whole leg: 80 ft/min, 0.08 kt/s and 0.15 deg/s. They keep a slow climb, speed change or
            turn from being taken for a row of short legs.
        gap_s: A hole in the log longer than this (5 s), and longer than three intervals, ends a
            leg.
    """

    slowest_mps: float = 40.0 * MPS_PER_KT
    shortest_s: float = 25.0
    longest_s: float = 180.0
    fewest_samples: int = 5
    settle_s: float = 8.0
    smoothing_s: float = 10.0
    turn_rate_radps: float = 0.6 * RAD_PER_DEG
    climb_rate_mps: float = 250.0 * _FTMIN
    acceleration_mps2: float = 0.4 * MPS_PER_KT
    bank_rad: float = 10.0 * RAD_PER_DEG
    airspeed_drift_mps: float = 3.0 * MPS_PER_KT
    airspeed_scatter_mps: float = 2.5 * MPS_PER_KT
    altitude_drift_m: float = 80.0 * M_PER_FT
    altitude_scatter_m: float = 50.0 * M_PER_FT
    track_drift_rad: float = 5.0 * RAD_PER_DEG
    track_scatter_rad: float = 3.0 * RAD_PER_DEG
    ground_speed_drift_mps: float = 6.0 * MPS_PER_KT
    ground_speed_scatter_mps: float = 4.0 * MPS_PER_KT
    leg_climb_rate_mps: float = 80.0 * _FTMIN
    leg_acceleration_mps2: float = 0.08 * MPS_PER_KT
    leg_turn_rate_radps: float = 0.15 * RAD_PER_DEG
    gap_s: float = 5.0


@dataclass(frozen=True, kw_only=True)
class RunSettings:
    """What joins legs into a run, and when a run is refused.

    Attributes:
        airspeed_apart_mps: A leg joins a run when its airspeed is this near to the run's mean (4
            kt).
        altitude_apart_m: The same for its altitude (400 ft).
        gap_s: Longest time from the end of one leg to the start of the next (300 s): beyond it the
            wind is another one.
        longest_s: Longest time from the start of the first leg to the end of the last (1500 s).
        straight_s: Of a long straight at either end of a run only the pieces within this time of
            the rest of the run are kept (180 s).
        fewest_legs: Three legs determine wind and true airspeed.
        largest_track_gap_rad: Largest gap between neighbouring tracks (200 deg): beyond it the legs
            lie in a fan too narrow to tell wind from airspeed.
        same_direction_rad: Tracks nearer to each other than this count as one direction (20 deg).
    """

    airspeed_apart_mps: float = 4.0 * MPS_PER_KT
    altitude_apart_m: float = 400.0 * M_PER_FT
    gap_s: float = 300.0
    longest_s: float = 1500.0
    straight_s: float = 180.0
    fewest_legs: int = 3
    largest_track_gap_rad: float = 200.0 * RAD_PER_DEG
    same_direction_rad: float = 20.0 * RAD_PER_DEG


@dataclass(frozen=True, kw_only=True)
class ManoeuvreSettings:
    """What counts as a manoeuvre that can be solved sample by sample.

    A steady turn, or a box with its turns, flown at constant power: the air
    vector goes round the compass while the airspeed hardly changes.

    Attributes:
        slowest_mps: Below this airspeed the aircraft is taken to be on the ground (40 kt).
        shortest_s, longest_s: Least duration (60 s); longer ones than `longest_s` (900 s) are ended
            there, as the wind has changed by then.
        smoothing_s: Width of the sliding mean that gusts are taken out with (10 s).
        airspeed_range_mps: Largest range of the smoothed airspeed (8 kt).
        altitude_range_m: Largest range of altitude (500 ft).
        largest_track_gap_rad: Largest gap between neighbouring tracks (120 deg).
        bank_rad: Largest smoothed bank, if recorded (45 deg).
        gap_s: A hole in the log longer than this (5 s) ends a manoeuvre.
    """

    slowest_mps: float = 40.0 * MPS_PER_KT
    shortest_s: float = 60.0
    longest_s: float = 900.0
    smoothing_s: float = 10.0
    airspeed_range_mps: float = 8.0 * MPS_PER_KT
    altitude_range_m: float = 500.0 * M_PER_FT
    largest_track_gap_rad: float = 120.0 * RAD_PER_DEG
    bank_rad: float = 45.0 * RAD_PER_DEG
    gap_s: float = 5.0


@dataclass(frozen=True, kw_only=True)
class AirspeedSettings:
    """What of an ordinary flight counts as flown at one airspeed.

    Attributes:
        slowest_mps: Below this airspeed the aircraft is taken to be on the ground (40 kt).
        shortest_s: Least duration of a stretch (40 s).
        smoothing_s: Airspeed is compared between means over so long before and after (30 s).
        change_mps: A larger difference between them is a change of airspeed (4 kt).
        apart_mps: Airspeeds nearer to each other than this are one (5 kt).
        most_airspeeds: At most so many airspeeds are told apart (6).
        largest_load: Turns with a larger load factor are left out (1.25: about 37 degrees of bank).
        gap_s: A hole in the log longer than this (5 s) ends a stretch.
    """

    slowest_mps: float = 40.0 * MPS_PER_KT
    shortest_s: float = 40.0
    smoothing_s: float = 30.0
    change_mps: float = 4.0 * MPS_PER_KT
    apart_mps: float = 5.0 * MPS_PER_KT
    most_airspeeds: int = 6
    largest_load: float = 1.25
    gap_s: float = 5.0
