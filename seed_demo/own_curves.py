"""Own curves of the made-up fleet's airframes against the truth that was written beside the logs.

``python -m seed_demo.own_curves demo`` after ``python -m seed_demo demo``. It asks for the curve
of every airframe without a planted fault and holds it, and the mean of its group, against what the
airframe's indicator truly needs: the port's correction less the indicator's own error.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any, Final

import numpy as np

from seed_demo.air import KT
from seed_demo.commands import ask, store_at
from seed_demo.comparison import within
from seed_demo.truth import ErrorCurve

SPEEDS_KT: Final = (65, 80, 100, 130)


def true_corrections(truth: dict[str, Any], tag: str) -> dict[int, float]:
    """Return what must be added to the reading of an airframe at reference weight, kt."""
    sortie = [one for one in truth["sorties"] if one["airframe"] == tag][-1]
    airframe = next(one for one in truth["airframes"] if one["airframe"] == tag)
    off_kt = airframe["instruments"]["airspeed_mps"] / KT
    curve = ErrorCurve(*(sortie["true_curve"][name] for name in ("level", "tilt", "bow")))
    return {v: curve.correction_kt(v - off_kt) - off_kt for v in SPEEDS_KT}


def row_at(curve: dict[str, Any], speed_kt: int) -> dict[str, Any]:
    """Return the line of a curve at an airspeed; empty where it has none."""
    rows = (row for row in curve["rows"] if round(row["ias_kt"]) == speed_kt)
    return next((row for row in rows if row["correction_kt"] is not None), {})


def compare(folder: Path) -> str:
    """Return rms errors and shares of truths in the bands, by airspeed, as text."""
    truth = json.loads((folder / "truth.json").read_text(encoding="utf-8"))
    sound = [one["airframe"] for one in truth["airframes"] if not one["planted"]]
    groups: dict[str, dict[str, Any]] = {}
    errors: dict[int, list[tuple[float, float, bool]]] = {v: [] for v in SPEEDS_KT}
    for tag in sound:
        own = ask("curve", tag)
        if own["group"] not in groups:
            groups[own["group"]] = ask("curve", own["group"])
        group = groups[own["group"]]
        for speed, true in true_corrections(truth, tag).items():
            mine, theirs = row_at(own, speed), row_at(group, speed)
            if mine and theirs:
                inside = within(true, mine["mean_low_kt"], mine["mean_high_kt"])
                errors[speed].append(
                    (mine["correction_kt"] - true, theirs["correction_kt"] - true, inside)
                )
    lines = ["   IAS  airframes  own curve rms  group's mean rms  truth inside own band"]
    for speed, found in errors.items():
        own_rms, group_rms = (
            float(np.sqrt(np.mean([one[which] ** 2 for one in found]))) for which in (0, 1)
        )
        held = sum(one[2] for one in found)
        lines.append(
            f"{speed:6d}  {len(found):9d}  {own_rms:10.2f} kt  {group_rms:13.2f} kt  "
            f"{held:8d} of {len(found)}"
        )
    return "\n".join(lines)


if __name__ == "__main__":
    with store_at(Path(sys.argv[1]) / "corrie.store"):
        print(compare(Path(sys.argv[1])))
