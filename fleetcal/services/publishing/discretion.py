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
        registrations: Tag of each airframe by its registration. It is found in small letters too,
            without its hyphen, and beside digits as in names of files.
    """

    registrations: Mapping[str, str]
    with_days: bool = False
    with_registrations: bool = False

    @cached_property
    def _pattern(self) -> re.Pattern[str] | None:
        # The longest first: one registration may begin another.
        known = sorted((r.strip() for r in self.registrations), key=len, reverse=True)
        ways = [_written(name) for name in known if len(_letters(name)) > 1]
        return re.compile("|".join(ways), re.IGNORECASE) if ways else None

    @cached_property
    def _tags(self) -> dict[str, str]:
        return {_letters(name): tag for name, tag in self.registrations.items()}

    def _tag(self, found: re.Match[str]) -> str:
        """Return what stands in the place of a registration, apart from digits beside it."""
        text, (start, stop) = found.string, found.span()
        before = "_" if text[start - 1 : start].isdigit() else ""
        behind = "_" if text[stop : stop + 1].isdigit() else ""
        return f"{before}{self._tags[_letters(found[0])]}{behind}"

    def words(self, text: str) -> str:
        """Return text from the store with days made months and registrations made tags."""
        if not self.with_days:
            text = _DAY.sub(r"\1", text)
        if not self.with_registrations and self._pattern is not None:
            text = self._pattern.sub(self._tag, text)
        return text

    def day(self, day: date) -> str:
        """Return a day as it may be shown."""
        return day.isoformat() if self.with_days else day.isoformat()[:7]


def _letters(name: str) -> str:
    """Return a registration as it is known however it is written."""
    return "".join(sign for sign in name.casefold() if sign.isalnum())


def _written(name: str) -> str:
    """Return a pattern for a registration, with or without hyphens, that no other one begins."""
    parts = [part for part in re.split(r"[-_ ]+", name) if part]
    inside = "[-_ ]*".join("-?".join(map(re.escape, part)) for part in parts)
    before = "0-9A-Za-z" if name[0].isdigit() else "A-Za-z"
    behind = "0-9A-Za-z" if name[-1].isdigit() else "A-Za-z"
    return f"(?<![{before}]){inside}(?![{behind}])"
