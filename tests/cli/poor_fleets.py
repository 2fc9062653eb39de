"""Invented fleets too small, too poor or wrong, as lines of points.

Six airframes carry one static source, four another, and C-01 changed from the first to
the second. What each scenario leaves of their points differs.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from tests.cli.command_line import Program
from tests.cli.invented_fleet import PAIRING, SCALING_SPEED_KT, TAIL, WING, Group, fleet_toml
from tests.store_places import begun_at

HEADINGS = (
    "airframe,flown_on,sortie,weight_kg,vic_kt,pressure_altitude_ft,kappa,u_kappa,u_shared_kappa\n"
)
FIRST = tuple(f"C-{i:02d}" for i in range(1, 7))
SECOND = tuple(f"C-{i:02d}" for i in range(7, 11))
SPEEDS_KT = (65.0, 80.0, 95.0, 110.0, 125.0)
BEFORE, AFTER = "2024-03-05", "2024-08-01"
CHANGE = """
[[airframe]]
tag = "C-01"
type = "Corrie 2"
note = "invented"
""" + "".join(
    f'[[airframe.fit]]\nfrom = {start}\nstatic_source = "{source}"\n'
    f'engine = "{PAIRING[0]}"\npropeller = "{PAIRING[1]}"\n'
    for start, source in (("2015-04-01", TAIL), ("2024-06-01", WING))
)
COMMANDS = {
    "curve": ("curve", TAIL),
    "standing": ("standing", "C-02"),
    "outliers": ("outliers",),
    "change": ("change", "C-01"),
    "contrast": ("contrast", TAIL, WING),
}
EVERY = frozenset({*COMMANDS, "publish"})


@dataclass(frozen=True, kw_only=True)
class Draw:
    """What points are drawn from: kappa = 0.03 + slope*(s - 0.25), and how airframes differ."""

    spread: float = 0.010
    noise: float = 0.006
    slope: float = 0.05
    u_kappa: float = 0.007
    u_shared: float = 0.004


USUAL = Draw()
ALIKE = Draw(spread=0.0)
SAME = Draw(spread=0.0, noise=0.0, slope=0.0)
TOO_SURE = Draw(u_kappa=1e-5, u_shared=0.0)
SURE_OF_ITSELF = Draw(u_kappa=1e-9, u_shared=0.0)


def points_of(
    tags: Iterable[str],
    drawn: Draw = USUAL,
    speeds: tuple[float, ...] = SPEEDS_KT,
    sorties: tuple[str, ...] = ("a", "b"),
    day: str = BEFORE,
    alone: bool = False,
) -> str:
    """Return lines of points; `alone` leaves each airframe one of the speeds, in turn."""
    rng = np.random.default_rng(7 if day == BEFORE else 8)
    lines = []
    for place, tag in enumerate(tags):
        level = 0.03 + drawn.spread * float(np.clip(rng.normal(), -1.5, 1.5))
        flown = (speeds[place % len(speeds)],) if alone else speeds
        for sortie in sorties:
            for speed in flown:
                lift = (SCALING_SPEED_KT / speed) ** 2
                kappa = level + drawn.slope * (lift - 0.25) + drawn.noise * rng.normal()
                lines.append(
                    f"{tag},{day},{sortie},600,{speed},3500,{kappa:.6f},"
                    f"{drawn.u_kappa:g},{drawn.u_shared:g}\n"
                )
    return "".join(lines)


def _all(drawn: Draw = USUAL, **how: Any) -> str:
    """Return points of every airframe, and of C-01 before and after its change."""
    later = how.pop("later", ("c", "d"))
    return (
        points_of(FIRST, drawn, **how)
        + points_of(SECOND, drawn, **how)
        + points_of(("C-01",), drawn, day=AFTER, **{**how, "sorties": later})
    )


SCENARIOS: dict[str, tuple[str, frozenset[str]]] = {
    # name: points, and which commands must refuse
    "one airframe": (
        points_of(("C-01",)) + points_of(("C-01",), day=AFTER),
        EVERY - {"change", "curve", "publish"},
    ),
    "two airframes": (
        points_of(("C-01", "C-02")) + points_of(("C-01",), day=AFTER),
        EVERY - {"change", "curve", "publish"},
    ),
    "one airframe at one static source": (
        points_of(FIRST) + points_of(("C-01",), day=AFTER),
        frozenset({"contrast"}),
    ),
    "all points at one speed": (_all(speeds=(95.0,)), frozenset()),
    "identical points": (_all(SAME), frozenset()),
    "nothing differs but the noise": (_all(ALIKE), frozenset()),
    "a single point each": (
        _all(alone=True, sorties=("a",), later=("c",)),
        frozenset({"change"}),
    ),
    "a single point of one": (
        points_of(("C-02",), speeds=(95.0,), sorties=("a",))
        + points_of(("C-01", *FIRST[2:]))
        + points_of(SECOND)
        + points_of(("C-01",), day=AFTER),
        frozenset(),
    ),
    "single sorties": (_all(sorties=("a",), later=("c",)), frozenset({"change"})),
    "no common speed": (
        points_of(FIRST, speeds=(60.0, 65.0, 70.0))
        + points_of(SECOND, speeds=(110.0, 120.0, 130.0))
        + points_of(("C-01",), speeds=(110.0, 120.0, 130.0), day=AFTER),
        frozenset({"change", "contrast"}),
    ),
    "only one airframe at other speeds": (
        points_of(("C-02",))
        + points_of(("C-01", *FIRST[2:]), speeds=(95.0,))
        + points_of(SECOND)
        + points_of(("C-01",), speeds=(95.0,), day=AFTER),
        frozenset(),
    ),
    "far too little uncertainty": (_all(TOO_SURE), EVERY),
    "hardly any uncertainty": (_all(SURE_OF_ITSELF), EVERY),
}


def poor_fleet(folder: Path) -> Program:
    program = Program(begun_at(folder / "store.sqlite3"))
    groups = (Group(TAIL, 6, 0.0, 0.0), Group(WING, 4, 0.0, 0.0))
    for name, text in (("fleet.toml", fleet_toml(groups)), ("change.toml", CHANGE)):
        (folder / name).write_text(text, encoding="utf-8")
        program.output("fleet", "load", folder / name)
    return program
