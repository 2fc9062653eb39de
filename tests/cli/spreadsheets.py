"""The same table as different people's spreadsheets write it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

#: How a spreadsheet can be written.
DIALECTS = ("semicolons", "tabs", "cp1252", "utf16", "other units")
# what one of a unit is in the other one
_OTHER_UNITS = {
    "kt": ("mph", 1852.0 / 1609.344, 0.0),
    "ft": ("m", 0.3048, 0.0),
    "m": ("ft", 1.0 / 0.3048, 0.0),
    "kg": ("lb", 1.0 / 0.45359237, 0.0),
    "degc": ("°F", 1.8, 32.0),
    "hpa": ("inHg", 100.0 / 3386.388640341, 0.0),
    "pa": ("hPa", 0.01, 0.0),
    "s": ("min", 1.0 / 60.0, 0.0),
    "pct": ("%", 1.0, 0.0),
}
_SHOWN = {"degc": "°C", "hpa": "hPa", "pa": "Pa", "pct": "%"}


def write_dialect(
    path: Path, text: str, dialect: str, everyday: Mapping[str, str] | None = None
) -> Path:
    """Write a plain CSV text as a spreadsheet of one dialect.

    Args:
        dialect: Of `DIALECTS`.
        everyday: Exact heading -> everyday heading without a unit.
    """
    headings, *rows = [line.split(",") for line in text.splitlines()]
    names = [(everyday or {}).get(h, _plain(h)) for h in headings]
    shown = [_SHOWN.get(_unit(h), _unit(h)) for h in headings]
    if dialect == "semicolons":
        lines = [";".join(names), *(";".join(c.replace(".", ",") for c in row) for row in rows)]
        path.write_text("\r\n".join(lines) + "\r\n", encoding="utf-8-sig")
    elif dialect == "tabs":
        written = [f"{n} {u}".strip().upper() for n, u in zip(names, shown, strict=True)]
        path.write_text("\n".join("\t".join(r) for r in (written, *rows)) + "\n")
    elif dialect == "cp1252":
        written = [f"{n} ({u})" if u else f"{n}" for n, u in zip(names, shown, strict=True)]
        lines = ["Größen", "", *(";".join(row) for row in (written, *rows)), ";" * len(names)]
        path.write_bytes("\r\n".join(lines).encode("cp1252"))
    elif dialect == "utf16":
        units = "\t".join(f"({u})" if u else "" for u in shown)
        lines = ["\t".join(names), units, *("\t".join(row) for row in rows)]
        path.write_bytes("\r\n".join(lines).encode("utf-16"))
    else:
        _write_other_units(path, headings, names, rows)
    return path


def _write_other_units(
    path: Path, headings: Sequence[str], names: Sequence[str], rows: Sequence[Sequence[str]]
) -> None:
    units = [_OTHER_UNITS.get(_unit(h), ("", 1.0, 0.0)) for h in headings]
    written = [f"{n}, {u[0]}" if u[0] else n for n, u in zip(names, units, strict=True)]
    lines = ["|".join(written)]
    for row in rows:
        cells = [
            _converted(cell, factor, 0.0 if heading.startswith("u_") else offset)
            for cell, heading, (_, factor, offset) in zip(row, headings, units, strict=True)
        ]
        lines.append("|".join(cells))
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")


def _converted(cell: str, factor: float, offset: float) -> str:
    same = factor == 1.0 and not offset
    return cell if same or not cell else repr(float(cell) * factor + offset)


def _unit(heading: str) -> str:
    ending = heading.rpartition("_")[2]
    return ending if ending in _OTHER_UNITS else ""


def _plain(heading: str) -> str:
    unit = _unit(heading)
    return heading.removesuffix(f"_{unit}").replace("_", " ") if unit else heading
