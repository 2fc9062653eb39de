"""What public pages do not show: registrations, and days finer than the month."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import Final

_DAY: Final = re.compile(r"\b(\d{4}-\d{2})-\d{2}\b")


@dataclass(frozen=True)
class Discretion:
    """How much public pages show.

    Attributes:
        registrations: Tag of each airframe by its registration.
    """

    registrations: Mapping[str, str]
    with_days: bool = False
    with_registrations: bool = False

    @cached_property
    def _pattern(self) -> re.Pattern[str] | None:
        # The longest first: one registration may begin another.
        known = sorted((r for r in self.registrations if r.strip()), key=len, reverse=True)
        if not known:
            return None
        return re.compile(
            rf"(?<![0-9A-Za-z])(?:{'|'.join(map(re.escape, known))})(?![0-9A-Za-z])", re.IGNORECASE
        )

    @cached_property
    def _folded(self) -> dict[str, str]:
        return {name.casefold(): tag for name, tag in self.registrations.items()}

    def words(self, text: str) -> str:
        """Return text from the store with days made months and registrations made tags."""
        if not self.with_days:
            text = _DAY.sub(r"\1", text)
        if not self.with_registrations and self._pattern is not None:
            text = self._pattern.sub(lambda found: self._folded[found[0].casefold()], text)
        return text

    def day(self, day: date) -> str:
        """Return a day as it may be shown."""
        return day.isoformat() if self.with_days else day.isoformat()[:7]
