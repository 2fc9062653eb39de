"""Older results without a recording: points flown beside a pace aircraft, as a table of points."""

from __future__ import annotations

from datetime import date
from typing import Final

import numpy as np

from seed_demo.fleet import Airframe

HEADINGS: Final = (
    "airframe",
    "flown_on",
    "sortie",
    "technique",
    "weight_kg",
    "vic_kt",
    "pressure_altitude_ft",
    "dvpc_kt",
    "u_dvpc_kt",
)
OLDER_SEED: Final = 1402
FLOWN: Final = (
    ("C-01", date(2014, 5, 17), 575.0),
    ("C-03", date(2014, 5, 18), 560.0),
    ("C-10", date(2019, 9, 7), 580.0),
)
SPEEDS_KT: Final = (72.0, 88.0, 104.0, 120.0)
U_CORRECTION_KT: Final = 0.8


def older_points_text(fleet: tuple[Airframe, ...]) -> str:
    """Return the table of older points (CSV); each has an error of its own of 0.8 kt."""
    rng = np.random.default_rng(OLDER_SEED)
    lines = [",".join(HEADINGS)]
    known = {airframe.tag: airframe for airframe in fleet}
    for sortie, (tag, day, weight_kg) in enumerate(FLOWN, start=1):
        curve = known[tag].true_curve(day)
        for speed in SPEEDS_KT:
            vic_kt = round(speed + float(rng.normal(0.0, 1.0)), 1)
            true_kt = curve.correction_kt(vic_kt, weight_kg)
            seen_kt = true_kt + float(rng.normal(0.0, U_CORRECTION_KT))
            lines.append(
                f"{tag},{day.isoformat()},{sortie},pace aircraft,{weight_kg:.0f},"
                f"{vic_kt:.1f},3000,{seen_kt:.1f},{U_CORRECTION_KT}"
            )
    return "\n".join(lines) + "\n"
