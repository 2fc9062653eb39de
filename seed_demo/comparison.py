"""What the commands found, held against the truth that was written beside the logs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

COMPARED_KT: Final = (70, 100, 130)


def within(true: float, low: float | None, high: float | None) -> bool:
    """Tell whether a truth lies in a band; no band holds nothing."""
    return low is not None and high is not None and low <= true <= high


@dataclass(frozen=True, kw_only=True)
class CurveCheck:
    """One speed of one group's curve: the truth, what was found, and the 95 % band of the mean."""

    group: str
    ias_kt: int
    true_kt: float
    found_kt: float | None
    low_kt: float | None
    high_kt: float | None

    @property
    def inside(self) -> bool:
        """Whether the truth lies in the band; no band holds nothing."""
        return within(self.true_kt, self.low_kt, self.high_kt)


@dataclass(frozen=True)
class FlagCheck:
    """Airframes with a planted fault against airframes flagged."""

    planted: tuple[str, ...]
    flagged: tuple[str, ...]

    @property
    def missed(self) -> tuple[str, ...]:
        """Planted, but not flagged."""
        return tuple(tag for tag in self.planted if tag not in self.flagged)

    @property
    def wrongly_flagged(self) -> tuple[str, ...]:
        """Flagged, but nothing was planted."""
        return tuple(tag for tag in self.flagged if tag not in self.planted)


def check_curve(truth: dict[str, Any], group_name: str, curve: dict[str, Any]) -> list[CurveCheck]:
    """Compare the rows of one `curve` command with the truth at the compared speeds.

    Args:
        truth: The content of truth.json.
        group_name: As in the truth and in the command.
        curve: What `fleetcal curve GROUP --format json` printed.

    Returns:
        One for each of `COMPARED_KT`; a speed that the curve leaves out has no figures.
    """
    known = next(group for group in truth["groups"] if group["group"] == group_name)
    rows = {round(float(row["ias_kt"])): row for row in curve["rows"]}
    checks: list[CurveCheck] = []
    for ias_kt in COMPARED_KT:
        row = rows.get(ias_kt, {})
        checks.append(
            CurveCheck(
                group=group_name,
                ias_kt=ias_kt,
                true_kt=float(known["correction_kt"][str(ias_kt)]),
                found_kt=row.get("correction_kt"),
                low_kt=row.get("mean_low_kt"),
                high_kt=row.get("mean_high_kt"),
            )
        )
    return checks


def check_handbook(
    truth: dict[str, Any], group_name: str, found: dict[str, Any]
) -> list[CurveCheck]:
    """Compare what `handbook compare` found with the planted difference.

    Args:
        truth: The content of truth.json.
        found: What `fleetcal handbook compare GROUP --format json` printed.

    Returns:
        Of the difference handbook less port, one for each of `COMPARED_KT`.
    """
    known = next(group for group in truth["groups"] if group["group"] == group_name)
    rows = {round(float(row["ias_kt"])): row for row in found["rows"]}
    said = truth["handbook"]["correction_kt"]
    return [
        CurveCheck(
            group=f"handbook less {group_name}",
            ias_kt=ias_kt,
            true_kt=float(said[str(ias_kt)]) - float(known["correction_kt"][str(ias_kt)]),
            found_kt=rows.get(ias_kt, {}).get("difference_kt"),
            low_kt=rows.get(ias_kt, {}).get("low_kt"),
            high_kt=rows.get(ias_kt, {}).get("high_kt"),
        )
        for ias_kt in COMPARED_KT
    ]


def check_flags(truth: dict[str, Any], outliers: dict[str, Any]) -> FlagCheck:
    """Compare what `fleetcal outliers --format json` printed with the planted faults."""
    planted = [a["airframe"] for a in truth["airframes"] if a["planted"]]
    flagged = {a["airframe"] for a in outliers["airframes"] if a["outside"]}
    return FlagCheck(tuple(planted), tuple(sorted(flagged)))


def _cell(value: float | None) -> str:
    return "   none" if value is None else f"{value:+7.2f}"


def curve_table(checks: Sequence[CurveCheck]) -> str:
    """Return the comparison as text, group by group, with the count of truths inside."""
    lines: list[str] = []
    group = ""
    for check in checks:
        if check.group != group:
            group = check.group
            lines += ["", group, "   IAS    true  pooled   95 % band of the mean   truth inside?"]
        band = f"{_cell(check.low_kt)} to {_cell(check.high_kt)}"
        answer = "yes" if check.inside else "NO"
        figures = f"{check.ias_kt:6d} {check.true_kt:+7.2f} {_cell(check.found_kt)}"
        lines.append(f"{figures}   {band:<22}  {answer}")
    inside = sum(check.inside for check in checks)
    lines += [
        "",
        f"{inside} of {len(checks)} truths are inside their band (corrections in kt, CAS - IAS).",
        "A 95 % band leaves the truth out about once in twenty; speeds of one group go together.",
    ]
    return "\n".join(lines[1:])


def _tags(tags: tuple[str, ...]) -> str:
    return ", ".join(tags) if tags else "none"


def flag_text(check: FlagCheck) -> str:
    """Return who was flagged against who was planted, in words."""
    return "\n".join(
        (
            f"planted:         {_tags(check.planted)}",
            f"flagged:         {_tags(check.flagged)}",
            f"missed:          {_tags(check.missed)}",
            f"wrongly flagged: {_tags(check.wrongly_flagged)}",
        )
    )
