"""Issues of published tables, as plain values."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime


@dataclass(frozen=True)
class IssueSeries:
    """Whose table it is; issues are numbered from 1 in each series."""

    type: str
    group: str
    flap_setting: str

    def __str__(self) -> str:
        return f"{self.group}, flaps {self.flap_setting}"


@dataclass(frozen=True, kw_only=True)
class NewIssue:
    """What is kept of an issue.

    Attributes:
        why: Why it was issued.
        inputs_json: Points and choices that went in.
        inputs_sha256: Of that text.
        table_json: The table as it was published.
        table_sha256: Of that text.
        files_json: SHA-256 of each file, and how it was laid out.
    """

    issued_on: date
    why: str
    inputs_json: str
    inputs_sha256: str
    table_json: str
    table_sha256: str
    files_json: str
    model: str


@dataclass(frozen=True, kw_only=True)
class IssueLine:
    """An issue as it is listed, without its contents.

    `withdrawn` is empty while it stands, else the reason why not.
    """

    type: str
    group: str
    flap_setting: str
    number: int
    issued_on: date
    why: str
    inputs_sha256: str
    table_sha256: str
    model: str
    program_version: str
    withdrawn: str
    withdrawn_on: date | None
    added_at: datetime


@dataclass(frozen=True)
class StoredIssue:
    """An issue with its contents."""

    line: IssueLine
    inputs_json: str
    table_json: str
    files_json: str
