"""What each setting of a reduction does and why its default is what it is, for the printed file."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Mapping
from typing import Any, Final

_WIDTH: Final = 96

ABOUT: Final = (
    "Settings of a reduction. What is left out keeps its default. The tolerances are common "
    "practice for airspeed checks by straight legs, without a published source, tried on simulated "
    "flights in smooth and rough air; the uncertainties are common practice without one, but for "
    "what an instrument that was never on a bench may be wrong by."
)

TABLES: Final = {
    "legs": (
        "What counts as one steady leg. Rates and bank cut the flight at turns, climbs and speed "
        "changes; what lies between is judged as a whole by its drift (fitted slope times "
        "duration) and scatter (standard deviation about the fitted line)."
    ),
    "runs": "What joins legs into a run that is solved for one position error.",
    "manoeuvres": (
        "What counts as a steady turn or box for --solve-by manoeuvres, which uses every sample."
    ),
    "airspeeds": "What counts as flown at one airspeed for --solve-by flight, which needs no legs.",
    "uncertainty": (
        "Standard uncertainties that a flight cannot show by itself. Widen those of instruments "
        "that were not checked."
    ),
    "probe": (
        "The outside-air temperature probe. What is set here takes precedence over what 'fleetcal "
        "fleet temperature' says of the airframe."
    ),
    "air": (
        "Relative humidity of a day for which it was not noted: the middle of the range is taken, "
        "and half its width over the root of 3 is its standard uncertainty."
    ),
    "climbs": (
        "What is taken for a steady climb or glide ('fleetcal reduce --quantity glide'), and for a "
        "pair flown both ways; common practice, no published source."
    ),
}

_LEGS: Final = {
    "slowest_kt": "below this airspeed the aircraft is on the ground; lower it for slow types",
    "shortest_s": "least duration: gusts last about 10 s, a shorter mean does not smooth them out",
    "longest_s": "a longer straight is cut in equal pieces, so that the wind changes little in one",
    "fewest_samples": "fewest complete samples, so that scatter can be judged in slow logs",
    "settle_s": "left out after a turn, climb or speed change, for the readings to settle",
    "smoothing_s": "width of the sliding line fit that shows the rates; at least five samples",
    "turn_rate_deg_per_s": "a turn is seen above it: a fifth of a standard-rate turn",
    "climb_rate_ftmin": "a climb is seen above it; holding height in gusts shows less",
    "acceleration_kt_per_min": (
        "a speed change is seen above it (0.4 kt/s); of the ground speed above one and a half times"
    ),
    "bank_deg": "a turn is seen above it, if bank is recorded",
    "airspeed_drift_kt": "over a whole leg, with its own mean airspeed: a small drift does no harm",
    "airspeed_scatter_kt": "over a whole leg; simulated rough air gives 1 to 1.5 kt",
    "altitude_drift_ft": "over a whole leg; one minute of the climb rate below",
    "altitude_scatter_ft": "over a whole leg; simulated rough air gives 15 to 20 ft",
    "track_drift_deg": "over a whole leg; a mean over five degrees loses 0.03 % of the speed",
    "track_scatter_deg": "over a whole leg; simulated rough air gives 1 to 1.5 deg",
    "ground_speed_drift_kt": "wider than for airspeed, as the wind has its share",
    "ground_speed_scatter_kt": "wider than for airspeed, as the wind has its share",
    "leg_climb_rate_ftmin": (
        "slope over the whole leg: keeps a slow climb from passing as a row of short legs"
    ),
    "leg_acceleration_kt_per_min": "the same for a slow speed change (0.08 kt/s)",
    "leg_turn_rate_deg_per_s": "the same for a slow turn",
    "gap_s": "a hole in the log longer than this, and than three samples, ends a leg",
}

_RUNS: Final = {
    "airspeed_apart_kt": "a leg joins a run whose mean airspeed is this near; must be above zero",
    "altitude_apart_ft": "the same for its altitude: wind changes with height",
    "gap_s": "longest time between two legs; beyond it the wind may have changed much",
    "longest_s": "longest time from the first leg to the end of the last, for the same reason",
    "straight_s": "how much of a long straight before or after a run is kept with it",
    "fewest_legs": "three tracks determine wind and airspeed; four check each other",
    "largest_track_gap_deg": (
        "largest gap between neighbouring tracks: in a narrower fan wind and airspeed cannot be "
        "separated"
    ),
    "same_direction_deg": "tracks nearer to each other count as one direction",
}

_MANOEUVRES: Final = {
    "slowest_kt": "below this airspeed the aircraft is on the ground",
    "shortest_s": "least duration: half a standard-rate circle",
    "longest_s": "a longer one is ended here, as the wind has changed much by then",
    "smoothing_s": "width of the sliding mean that takes out gusts",
    "airspeed_range_kt": "largest range of the smoothed airspeed",
    "altitude_range_ft": "largest range of altitude",
    "largest_track_gap_deg": "largest gap between neighbouring tracks",
    "bank_deg": "largest smoothed bank, if recorded",
    "gap_s": "a hole in the log longer than this ends a manoeuvre",
}

_AIRSPEEDS: Final = {
    "slowest_kt": "below this airspeed the aircraft is on the ground",
    "shortest_s": "least duration of a stretch at one airspeed",
    "smoothing_s": "airspeed is compared between means over so long before and after",
    "change_kt": "a larger difference between them is a change of airspeed",
    "apart_kt": "airspeeds nearer to each other than this are one",
    "most_airspeeds": "at most so many airspeeds are told apart",
    "largest_load": "turns with a larger load factor are left out",
    "gap_s": "a hole in the log longer than this ends a stretch",
}

_UNCERTAINTY: Final = {
    "u_temperature_k": "bias of the temperature, the same all flight",
    "u_recovery_factor": (
        "of the probe's recovery factor, where the display shows what the probe feels and no "
        "factor was stated with the airframe"
    ),
    "u_humidity_pct": "of a relative humidity or dew point that was recorded or given",
    "u_airspeed_kt": (
        "left in the indicated airspeed; without it the bench check's own figure and what the "
        "indicator drifts after, or the tolerance of one that was never on a bench"
    ),
    "u_altitude_ft": "left in the altimeter, likewise",
    "u_ground_speed_kt": (
        "what errors of the satellite velocity leave in half a minute at least (0.05 m/s)"
    ),
    "u_wind_kt": "how much the wind differs from pass to pass of a speed course",
    "wind_wander_kt": "what each wind component may well wander in ten minutes",
    "u_wind_drift_kt_per_min": "steady change of the wind (1 kt in ten minutes)",
    "prior_weight": (
        "how many spare pairs of passes of a speed course the supposed wind counts for; above zero"
    ),
    "leg_scatter_kt": "leg scatter of earlier flights, where the legs of a flight show none",
}

_PROBE: Final = {
    "recovery_factor": (
        "share of the ram rise that the probe feels; headings that say total take 1, static or "
        "ambient 0"
    ),
}

_AIR: Final = {
    "driest_humidity_pct": "below the clouds in fair weather, by common practice",
    "moistest_humidity_pct": "above it lies haze or cloud, by common practice",
}

_CLIMBS: Final = {
    "slowest_kt": "below this airspeed the aircraft is on the ground",
    "gentlest_ftmin": "least rate up or down",
    "shortest_s": "least duration",
    "longest_s": "a longer one is cut in equal pieces",
    "fewest_samples": "least number of complete samples",
    "settle_s": "left out at the begin, after a turn or a change of power",
    "smoothing_s": "width of the sliding line fit that shows the rates",
    "turn_rate_deg_per_s": "a turn is seen above it",
    "acceleration_kt_per_min": "a speed change is seen above it (0.5 kt/s)",
    "rate_change_ftmin_per_s": "a level-off or a pull is seen above this change of the rate",
    "full_rate": "share of its usual rate down to which a climb or glide is followed",
    "airspeed_drift_kt": "over the whole of it",
    "airspeed_scatter_kt": "over the whole of it",
    "altitude_scatter_ft": "about a straight line over time",
    "track_drift_deg": "over the whole of it",
    "track_scatter_deg": "over the whole of it",
    "gap_s": "a hole in the log longer than this ends it",
    "opposite_deg": "tracks of a pair are this near to opposite; across the wind both drift",
    "airspeed_apart_kt": "mean airspeeds of a pair are this near",
    "apart_s": "longest time between both ways of a pair: beyond it the wind has changed",
    "shared_block": "least share of the lower height gain that both ways flew",
}

WORDS: Final[Mapping[str, Mapping[str, str]]] = {
    "legs": _LEGS,
    "runs": _RUNS,
    "manoeuvres": _MANOEUVRES,
    "airspeeds": _AIRSPEEDS,
    "uncertainty": _UNCERTAINTY,
    "probe": _PROBE,
    "air": _AIR,
    "climbs": _CLIMBS,
}


def explained_toml(
    document: Mapping[str, Mapping[str, Any]], defaults: Mapping[str, Mapping[str, Any]]
) -> str:
    """Write settings as TOML with a comment at every table and key.

    Args:
        document: Table to key to value.
        defaults: Likewise; a value that differs is shown with its default.
    """
    import tomli_w

    lines = [*_comment(ABOUT)]
    for table, values in document.items():
        lines += ["", *_comment(TABLES[table]), f"[{table}]"]
        for key, words in WORDS[table].items():
            if key not in values:
                lines += _comment(f"{key} is not set: {words}")
                continue
            default = defaults[table].get(key)
            changed = default is not None and values[key] != default
            lines += _comment(f"{words} (default {default})" if changed else words)
            lines.append(tomli_w.dumps({key: values[key]}).strip())
    return "\n".join(lines) + "\n"


def _comment(text: str) -> Iterator[str]:
    return (f"# {line}" for line in textwrap.wrap(text, _WIDTH))
