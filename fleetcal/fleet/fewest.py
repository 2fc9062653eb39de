"""How few aircraft will do."""

from __future__ import annotations

from typing import Final

#: Fewest aircraft for which a group's curve gets bands.
FEWEST_AIRCRAFT: Final = 3
