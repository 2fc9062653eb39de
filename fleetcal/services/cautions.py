"""What every printed result carries: the cautions, and cells made harmless."""

from __future__ import annotations

from fleetcal.publish import CAUTIONS, PITOT_ASSUMPTION, SHORT_CAUTION, harmless_cell

__all__ = ["CAUTIONS", "PITOT_ASSUMPTION", "SHORT_CAUTION", "harmless_cell"]
