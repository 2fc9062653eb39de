"""Version of the program, where every room may import it from."""

from __future__ import annotations

from typing import Final

__version__: Final = "0.2.0"
