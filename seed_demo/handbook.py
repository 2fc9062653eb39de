"""The handbook of the invented type: its table departs from the truth in a planted way.

It says that the port reads 10 kt slow at 50 kt and 10 kt fast at 140 kt, in a
straight line between: the shape that pilots tell of (common practice, no published
source). No port of this fleet does that. Its speeds of climb and glide are off as well,
but for least sink; by how much is worked out beside the truth of climbs and glides.
"""

from __future__ import annotations

from typing import Any, Final

from seed_demo.truth import REFERENCE_WEIGHT_KG, TAIL_BOOM

NAME: Final = "first edition"
SLOW_KT, FAST_KT, MOST_KT = 50.0, 140.0, 10.0
#: As the handbook prints them, IAS in knots.
SPEEDS: Final = (
    ("stall", 50.0),
    ("minimum sink", 52.0),
    ("best angle of climb", 60.0),
    ("glide", 64.0),
    ("best rate of climb", 68.0),
    ("approach", 62.0),
    ("flap limit", 82.0),
    ("manoeuvring", 98.0),
    ("never exceed", 139.0),
)
#: The names that a handbook uses, for the names in the truth.
_SAME_SPEED: Final = {
    "best rate of climb": "best rate of climb",
    "best angle of climb": "best angle of climb",
    "best glide": "glide",
    "least sink": "minimum sink",
}


def correction_kt(ias_kt: float) -> float:
    """Return the correction CAS - IAS that the handbook's table gives."""
    return MOST_KT * (1.0 - 2.0 * (ias_kt - SLOW_KT) / (FAST_KT - SLOW_KT))


def rows() -> tuple[tuple[float, float], ...]:
    """Return the printed lines, IAS and CAS to a tenth of a knot."""
    speeds = (SLOW_KT + 10.0 * step for step in range(10))
    return tuple((ias, round(ias + correction_kt(ias), 1)) for ias in speeds)


def speeds_cas_kt() -> dict[str, float]:
    """Return its speeds of climb and glide as CAS by its own table, under the truth's names."""
    said = dict(SPEEDS)
    return {
        name: said[printed] + correction_kt(said[printed]) for name, printed in _SAME_SPEED.items()
    }


def handbook_truth() -> dict[str, Any]:
    """Return what was planted, for truth.json."""
    return {
        "name": NAME,
        "static_source": TAIL_BOOM,
        "weight_kg": REFERENCE_WEIGHT_KG,
        "planted": f"says {MOST_KT:g} kt slow at {SLOW_KT:g} kt and {MOST_KT:g} kt fast at "
        f"{FAST_KT:g} kt, straight between",
        "correction_kt": {str(v): round(correction_kt(float(v)), 4) for v in (70, 100, 130)},
    }
