"""A column that a table given by people may have: its exact heading, its unit, everyday words."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final

#: Kinds of columns without a unit.
TEXT, NUMBER, DATE = "text", "number", "date"

# what an exact heading ends in -> unit, as `fleetcal.units` names it
_ENDINGS: Final = {
    "kg_per_h": "kg/h",
    "ftmin": "ft/min",
    "degc": "degC",
    "kt": "kt",
    "ft": "ft",
    "kg": "kg",
    "hpa": "hPa",
    "pa": "Pa",
    "deg": "deg",
    "pct": "%",
    "m": "m",
    "s": "s",
    "k": "K",
}
_SPEEDS: Final = ("kt", "mph", "km/h", "m/s")
_LENGTHS: Final = ("ft", "m", "km")
_PRESSURES: Final = ("hPa", "Pa", "kPa", "inHg", "psi")
_TEMPERATURES: Final = ("degC", "degF", "K")
#: Unit of a column -> kind of `fleetcal.flightlog.unit_words`, and the units that become it.
CONVERTIBLE: Final[dict[str, tuple[str, tuple[str, ...]]]] = {
    "kt": ("speed", _SPEEDS),
    "ft/min": ("speed", (*_SPEEDS, "ft/min")),
    "ft": ("length", _LENGTHS),
    "m": ("length", _LENGTHS),
    "hPa": ("pressure", _PRESSURES),
    "Pa": ("pressure", _PRESSURES),
    "degC": ("temperature", _TEMPERATURES),
    "K": ("temperature", _TEMPERATURES),
    "kg": ("fuel", ("kg", "lb")),
    "kg/h": ("flow", ("kg/h", "lb/h")),
    "deg": ("angle", ("deg", "rad")),
    "s": ("time", ("s", "min", "h")),
    "%": ("percent", ("%",)),
}


@dataclass(frozen=True, kw_only=True)
class KnownColumn:
    """One column.

    Attributes:
        name: The exact heading.
        kind: `TEXT`, `NUMBER` or `DATE`; a column with a unit holds numbers.
        unit: As `fleetcal.units` names it; empty for none.
        words: Everyday headings that mean it, units left out.
        not_this: Everyday headings that look like it and are not -> what to do about them.
    """

    name: str
    kind: str = TEXT
    unit: str = ""
    words: tuple[str, ...] = ()
    not_this: dict[str, str] = field(default_factory=dict)

    @property
    def plain_name(self) -> str:
        """The exact heading without its unit."""
        ending = next((e for e in _ENDINGS if self.unit and self.name.endswith(f"_{e}")), "")
        return self.name.removesuffix(f"_{ending}") if ending else self.name

    @property
    def is_difference(self) -> bool:
        """Whether it is converted without the zero of its unit, as an uncertainty is."""
        return self.name.startswith("u_")


def table_column(
    name: str, *words: str, kind: str = "", not_this: dict[str, str] | None = None
) -> KnownColumn:
    """Return a column; a unit at the end of its name says that it holds numbers.

    Args:
        words: See `KnownColumn`.
        kind: Text if left out and the name has no unit.
    """
    unit = next((u for e, u in _ENDINGS.items() if name.endswith(f"_{e}")), "")
    unit = "" if kind == TEXT else unit
    return KnownColumn(
        name=name,
        kind=kind or (NUMBER if unit else TEXT),
        unit=unit,
        words=words,
        not_this=not_this or {},
    )
