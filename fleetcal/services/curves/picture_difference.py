"""What the figure of two curves compared shows."""

from __future__ import annotations

from fleetcal.publish.difference_figure import DifferencePicture
from fleetcal.services.curves.compare_curves import Comparison


def difference_picture(found: Comparison) -> DifferencePicture:
    """Return two curves compared as they are drawn."""
    quantity = found.quantity
    flaps = f"{found.type}, flaps {found.flap_setting}, {found.weight_kg:.0f} kg"
    return DifferencePicture(
        title=found.answer,
        facts=f"{flaps}; first: {found.first.name}; second: {found.second.name}",
        heading=f"second less first, {quantity.unit}",
        speed=f"{quantity.speed} at {found.weight_kg:.0f} kg, kt",
        places=[(row.speed_kt, row.difference, row.low, row.high) for row in found.rows],
    )
