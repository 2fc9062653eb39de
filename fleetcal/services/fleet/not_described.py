"""What stands for parts of a fleet that nobody has described yet, in one place.

Whoever makes a description (from a name alone, from options, from a list) takes names and
values from here.
"""

from __future__ import annotations

from fleetcal.store.undescribed import (
    FIRST_DAY,
    SUPPOSED_SCALING_KT,
    SUPPOSED_WEIGHT_KG,
    is_undescribed,
    note_of,
    rest_of_note,
    speed_is_supposed,
    supposed_type,
    undescribed,
    undescribed_airframe,
    weight_is_supposed,
    with_ports,
)

__all__ = [
    "FIRST_DAY",
    "SUPPOSED_SCALING_KT",
    "SUPPOSED_WEIGHT_KG",
    "is_undescribed",
    "note_of",
    "rest_of_note",
    "speed_is_supposed",
    "supposed_type",
    "undescribed",
    "undescribed_airframe",
    "weight_is_supposed",
    "with_ports",
]
