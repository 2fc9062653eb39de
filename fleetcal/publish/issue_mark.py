"""What a published table says about being an issue: number, date, and whether it still stands."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, kw_only=True)
class IssueMark:
    """One issue of a table.

    Args:
        number: From 1, counted for each group and flap setting.
        inputs_sha256: Of the points and choices that went in.
        why: Why it was issued.
        withdrawn: Why it was withdrawn; empty while it stands.
    """

    number: int
    issued_on: date
    inputs_sha256: str
    why: str = ""
    withdrawn: str = ""
    withdrawn_on: date | None = None

    @property
    def title(self) -> str:
        """Number and date in words."""
        return f"Issue {self.number} of {self.issued_on.isoformat()}"

    @property
    def warning(self) -> str:
        """One sentence if it was withdrawn, else nothing."""
        if not self.withdrawn:
            return ""
        day = f" on {self.withdrawn_on.isoformat()}" if self.withdrawn_on else ""
        return f"WITHDRAWN{day}: {self.withdrawn.rstrip('.')}. Do not use this table."
