"""The smallest fleet that a flight can be kept for."""

from __future__ import annotations

from typing import Final

FLEET: Final = """
[[type]]
name = "Corrie 2"
reference_weight_kg = 600.0
scaling_speed_kt = 45.0
[[type.static_source]]
name = "wing boom"
[[engine]]
name = "75 kW four"
[[propeller]]
name = "two-blade fixed"
[[airframe]]
tag = "C-01"
type = "Corrie 2"
[[airframe.fit]]
from = 2015-04-01
static_source = "wing boom"
engine = "75 kW four"
propeller = "two-blade fixed"
"""
