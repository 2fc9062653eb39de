"""What the commands found of climbs and glides, held against the truth."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from seed_demo.comparison import within


@dataclass(frozen=True, kw_only=True)
class PerformanceCheck:
    """One figure of one pooled curve: the truth, what was found, and its 95 % interval."""

    curve: str
    figure: str
    unit: str
    true: float
    found: float | None
    low: float | None
    high: float | None

    @property
    def inside(self) -> bool:
        """Whether the truth lies in the interval."""
        return within(self.true, self.low, self.high)


def _name(known: dict[str, Any]) -> str:
    return f"{known['pairing']}, {known['power_state']}"


def check_best_speeds(known: dict[str, Any], found: dict[str, Any]) -> list[PerformanceCheck]:
    """Compare the best speeds of one `climbs curve` with the truth.

    Args:
        known: The truth of that pairing and power setting, at the height that was found.
        found: What `fleetcal climbs curve PAIRING --format json` printed.

    Returns:
        One for each best speed, in kt CAS.
    """
    told = {row["speed"]: row for row in found["speeds"]}
    return [
        PerformanceCheck(
            curve=_name(known),
            figure=name,
            unit="kt",
            true=true,
            found=told[name]["cas_kt"],
            low=told[name]["low_kt"],
            high=told[name]["high_kt"],
        )
        for name, true in known["best_speeds_cas_kt"].items()
    ]


def check_rates(known: dict[str, Any], found: dict[str, Any]) -> list[PerformanceCheck]:
    """Compare the rates of one `climbs curve` with the truth, as `check_best_speeds` does.

    Returns:
        In feet a minute; a speed that the curve leaves out has no figures.
    """
    rows = {round(float(row["cas_kt"])): row for row in found["rows"]}
    return [
        PerformanceCheck(
            curve=_name(known),
            figure=f"rate at {cas} kt",
            unit="ft/min",
            true=true,
            found=rows.get(int(cas), {}).get("rate_ftmin"),
            low=rows.get(int(cas), {}).get("mean_low_ftmin"),
            high=rows.get(int(cas), {}).get("mean_high_ftmin"),
        )
        for cas, true in known["rate_ftmin"].items()
    ]


def check_handbook_speeds(known: dict[str, Any], found: dict[str, Any]) -> list[PerformanceCheck]:
    """Compare how far a handbook's speeds were found to be off with what was planted.

    Args:
        known, found: As `check_best_speeds` has them.

    Returns:
        Of the handbook's speed less the truth's, in kt CAS.
    """
    told = {row["speed"]: row for row in found["handbook"]}
    return [
        PerformanceCheck(
            curve=_name(known),
            figure=name,
            unit="kt",
            true=true,
            found=told.get(name, {}).get("difference_kt"),
            low=told.get(name, {}).get("low_kt"),
            high=told.get(name, {}).get("high_kt"),
        )
        for name, true in known["handbook_less_truth_kt"].items()
    ]


def performance_table(checks: Sequence[PerformanceCheck], *, signed: bool = False) -> str:
    """Return the comparison as text, curve by curve, with the count of truths inside."""
    lines: list[str] = []
    curve = ""
    for check in checks:
        if check.curve != curve:
            curve = check.curve
            lines += ["", curve]
            lines.append(
                f"   {'':<20}{'':>7}{'true':>9}{'found':>9}   95 % interval       truth inside?"
            )
        sign = "+" if signed or check.unit == "ft/min" else ""
        places = 0 if check.unit == "ft/min" else 1
        true, found, low, high = (
            "none" if value is None else f"{value:{sign}.{places}f}"
            for value in (check.true, check.found, check.low, check.high)
        )
        answer = "yes" if check.inside else "NO"
        lines.append(
            f"   {check.figure:<20}{check.unit:>7}{true:>9}{found:>9}   "
            f"{low:>6} to {high:>6}    {answer}"
        )
    inside = sum(check.inside for check in checks)
    lines += [
        "",
        f"{inside} of {len(checks)} truths are inside their interval.",
        "A 95 % interval leaves the truth out about once in twenty; those of a curve go together.",
    ]
    return "\n".join(lines[1:])
