"""How often the intervals of best speeds hold the truth, in fleets and from recordings.

The laws are those of `performance_fleet`: thrust that falls with the square of
airspeed and a parabolic polar, each aircraft with a level and a tilt of its own.
"""

from __future__ import annotations

import tempfile
from pathlib import Path

import numpy as np

from fleetcal.errors import FitError
from fleetcal.fleet.best_lift import best_lift
from fleetcal.fleet.model_checks import fit_checked
from fleetcal.fleet.outliers import judge_fleet
from fleetcal.fleet.pooled import PooledFit
from tests.fleet.performance_fleet import CLIMB, GLIDE, best, flown, value

from .invented_fleet import Plan

RATE, ANGLE = 1.5, 1.0
#: Of each kind its law and its best speeds, with the power of s that each is best for.
KINDS = {
    "climb": (CLIMB, {"best rate of climb": RATE, "best angle of climb": ANGLE}),
    "glide": (GLIDE, {"best glide": ANGLE, "least sink": RATE}),
}
#: Lift coefficients flown, from 55 kt to 130 kt for a scaling speed of 45 kt: well past the
#: least sink on the slow side.
LOW, HIGH = 0.12, 0.75


def held(kind: str, plan: Plan, order: int | None, seed: int) -> tuple[float, ...]:
    """Return of each best speed whether it is told, its interval and its rate's band hold."""
    law, powers = KINDS[kind]
    points = flown(law, np.random.default_rng(seed), aircraft=plan.aircraft, low=LOW, high=HIGH)
    fit, _ = fit_checked(points, order)
    return tuple(x for power in powers.values() for x in _one_held(law, power, fit))


def _one_held(law: tuple[float, float, float], power: float, fit: PooledFit) -> tuple[float, ...]:
    try:
        found = best_lift(fit, 0, power, (LOW, HIGH))
    except FitError:
        return 0.0, 0.0, 0.0
    truth = best(law, power, LOW, HIGH)
    band = fit.mean_band(0, np.array([found.lift]))
    inside = band.low[0] <= value(law, found.lift) <= band.high[0]
    return 1.0, float(found.low <= truth <= found.high), float(inside)


def flagged_clean(kind: str, plan: Plan, order: int | None, seed: int) -> tuple[float, ...]:
    """Return whether any aircraft of a clean fleet is flagged for its climbs or glides."""
    law, _ = KINDS[kind]
    points = flown(law, np.random.default_rng(seed), aircraft=plan.aircraft, low=LOW, high=HIGH)
    verdicts = judge_fleet(points, 0.05, order)
    return (float(np.nanmin(verdicts.adjusted) < 0.05),)


def recorded(kind: str, plan: Plan, order: int | None, seed: int) -> tuple[float, ...]:
    """Return for a fleet of made-up recordings whether each interval holds, by the commands.

    Every airframe has a path coefficient of its own and flies its saw twice; the air
    rises or sinks along each climb by some 20 ft/min.
    """
    from tests.cli.command_line import Program
    from tests.cli.invented_fleet import WING, Group, fleet_toml
    from tests.cli.invented_glides import CLIMB as CLIMBED
    from tests.cli.invented_glides import GLIDE as GLIDED
    from tests.cli.invented_glides import best_cas_kt, log_text

    rng = np.random.default_rng(seed)
    law = CLIMBED if kind == "climb" else GLIDED
    words: tuple[str, ...] = ("--quantity", kind, "--power-state", "as flown", "--weight-kg", "600")
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
            program.output("reduce", log, "--airframe", tag, *words)
        found = program.json("curve", "--quantity", kind)
    told = []
    for one in found["speeds"]:
        truth = best_cas_kt(law, KINDS[kind][1][one["speed"]])
        known = one["cas_kt"] is not None
        told += [float(known), float(known and one["low_kt"] <= truth <= one["high_kt"])]
    return tuple(told)
