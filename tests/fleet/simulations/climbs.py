"""How often the intervals of best speeds hold the truth, in fleets and from recordings.

The laws are those of `performance_fleet`: thrust that falls with the square of
airspeed and a parabolic polar, each aircraft with a level and a tilt of its own.
"""

from __future__ import annotations

import sys
import tempfile
from functools import partial
from pathlib import Path

import numpy as np

from fleetcal.errors import FitError
from fleetcal.fleet.best_lift import best_lift
from fleetcal.fleet.model_checks import fit_checked
from fleetcal.fleet.outliers import judge_fleet
from tests.fleet.performance_fleet import CLIMB, GLIDE, best, flown, value

from .invented_fleet import Plan

RATE, ANGLE = 1.5, 1.0
#: Which law, which power, and what it is called.
SPEEDS = (
    ("best rate of climb", CLIMB, RATE),
    ("best angle of climb", CLIMB, ANGLE),
    ("best glide", GLIDE, ANGLE),
    ("least sink", GLIDE, RATE),
)
#: Lift coefficients flown, from 55 kt to 130 kt for a scaling speed of 45 kt: well past the
#: least sink on the slow side.
LOW, HIGH = 0.12, 0.75


def held(law: tuple[float, float, float], power: float, plan: Plan, order: int | None, seed: int):
    """Return whether a best speed is told, whether its interval holds, and its rate's band."""
    rng = np.random.default_rng(seed)
    points = flown(law, rng, aircraft=plan.aircraft, low=LOW, high=HIGH)
    fit, _ = fit_checked(points, order)
    try:
        found = best_lift(fit, 0, power, (LOW, HIGH))
    except FitError:
        return 0.0, 0.0, 0.0
    truth = best(law, power, LOW, HIGH)
    band = fit.mean_band(0, np.array([found.lift]))
    there = value(law, found.lift)
    return (
        1.0,
        float(found.low <= truth <= found.high),
        float(band.low[0] <= there <= band.high[0]),
    )


def trial(name: str):
    """Return the trial of one best speed."""
    law, power = next((law, power) for known, law, power in SPEEDS if known == name)
    return partial(held, law, power)


def flagged_clean(law: tuple[float, float, float], plan: Plan, order: int | None, seed: int):
    """Return whether any aircraft of a clean fleet is flagged for its climbs or glides."""
    points = flown(law, np.random.default_rng(seed), aircraft=plan.aircraft, low=LOW, high=HIGH)
    verdicts = judge_fleet(points, 0.05, order)
    return (float(np.nanmin(verdicts.adjusted) < 0.05),)


def recorded(kind: str, plan: Plan, order: int | None, seed: int):
    """Return for a fleet of made-up recordings whether each interval holds, by the commands.

    Every airframe has a path coefficient of its own and flies its saw twice; the air
    rises or sinks along each climb by some 20 ft/min.
    """
    sys.path.insert(0, str(Path(__file__).parents[2] / "cli"))
    from command_line import Program
    from invented_fleet import WING, Group, fleet_toml
    from invented_glides import CLIMB as CLIMBED
    from invented_glides import GLIDE as GLIDED
    from invented_glides import best_cas_kt, log_text

    rng = np.random.default_rng(seed)
    law = CLIMBED if kind == "climb" else GLIDED
    words = ("--kind", kind, "--power-state", "as flown", "--weight-kg", "600")
    words += ("--thrust-kw", "40") if kind == "climb" else ()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        program = Program(str(folder / "store.sqlite3"))
        described = fleet_toml((Group(WING, plan.aircraft, 0.0, 0.0),))
        (folder / "fleet.toml").write_text(described, encoding="utf-8")
        program.output("fleet", "load", folder / "fleet.toml")
        for number in range(1, plan.aircraft + 1):
            log = folder / f"{number}.csv"
            more, own = float(rng.normal(0.0, 0.0006)), int(rng.integers(1_000_000))
            text = log_text(
                law,
                more=more,
                seed=own,
                air_ftmin=20.0,
                speeds_kt=(51.0, 54.0, 58.0, 66.0, 76.0, 88.0, 100.0),
                warmer_k=0.0 if kind == "climb" else 8.0,
            )
            log.write_text(text, encoding="utf-8")
            tag = f"C-{number:02d}"
            program.output("climbs", "reduce", log, "--airframe", tag, *words)
        found = program.json("climbs", "curve", "--kind", kind)
    told = []
    powers = {name: power for name, _, power in SPEEDS}
    for one in found["speeds"]:
        truth = best_cas_kt(law, powers[one["speed"]])
        known = one["cas_kt"] is not None
        told += [float(known), float(known and one["low_kt"] <= truth <= one["high_kt"])]
    return tuple(told)
