"""What pages hold of climbs and glides, as plain values; speeds in kt, rates in ft/min."""

from __future__ import annotations

from dataclasses import dataclass

from fleetcal.plain_text import file_stem


@dataclass(frozen=True, kw_only=True)
class BestSpeedLine:
    """A best speed with its 95 % interval; `note` says why it has none, or an end is open."""

    speed: str
    ias_kt: float | None
    cas_kt: float | None
    low_kt: float | None
    high_kt: float | None
    rate_ftmin: float | None
    ratio: float | None
    note: str


@dataclass(frozen=True, kw_only=True)
class RateMember:
    """One airframe against the others of its pairing; `page` is its own."""

    airframe: str
    page: str
    measurements: int
    departure_ftmin: float | None
    at_cas_kt: float | None
    verdict: str


@dataclass(frozen=True, kw_only=True)
class RatesBlock:
    """Climbs or glides of one pairing at one power state and flap setting.

    Attributes:
        kind: ``climb`` or ``glide``.
        answers: The best speeds in sentences.
        rows (tuple of (cas, ias, rate, mean low, mean high, next low, next high)): With 95 %
            bands; ias None where several ports show it differently.
        curve: The same a knot apart, for the figure.
        points (tuple of (cas, rate)): Measured, at reference weight.
        notes: What speaks against it, what was left out, and what it rests on.
    """

    kind: str
    power_state: str
    flap_setting: str
    pairing: str
    weight_kg: float
    altitude_ft: float
    answers: tuple[str, ...]
    best: tuple[BestSpeedLine, ...]
    rows: tuple[tuple[float | None, ...], ...]
    curve: tuple[tuple[float | None, ...], ...]
    points: tuple[tuple[float, float], ...]
    members: tuple[RateMember, ...]
    measurements: int
    notes: tuple[str, ...]

    @property
    def title(self) -> str:
        """Name of the block."""
        flaps = "" if self.flap_setting == "up" else f", flaps {self.flap_setting}"
        return f"{self.kind.capitalize()}s, {self.power_state}{flaps}: {self.pairing}"


@dataclass(frozen=True, kw_only=True)
class CruiseCells:
    """True airspeed at one power and altitude; `note` says why it is unknown, or carried far."""

    power_pct: float
    pressure_altitude_ft: float
    weight_kg: float
    tas_kt: float | None
    mean_low_kt: float | None
    mean_high_kt: float | None
    next_low_kt: float | None
    next_high_kt: float | None
    handbook: str
    handbook_tas_kt: float | None
    note: str


@dataclass(frozen=True, kw_only=True)
class CruiseBlock:
    """Cruise of one pairing at one flap setting."""

    pairing: str
    flap_setting: str
    answer: str
    lines: tuple[CruiseCells, ...]
    runs: int
    airframes: int
    notes: tuple[str, ...]

    @property
    def title(self) -> str:
        """Name of the block."""
        flaps = "" if self.flap_setting == "up" else f", flaps {self.flap_setting}"
        return f"Cruise{flaps}: {self.pairing}"


@dataclass(frozen=True, kw_only=True)
class ClimbsPage:
    """The climbs, glides and cruise of one type.

    Attributes:
        too_few: In sentences, what was flown and cannot be pooled.
    """

    type: str
    blocks: tuple[RatesBlock, ...]
    too_few: tuple[str, ...]
    cruise: tuple[CruiseBlock, ...] = ()

    @property
    def path(self) -> str:
        """Name of the file, from the root of the site."""
        return climbs_path(self.type)


@dataclass(frozen=True, kw_only=True)
class OwnRates:
    """What an airframe's own climbs, glides or cruise say; `page` is that of its type."""

    kind: str
    power_state: str
    flap_setting: str
    measurements: int
    answers: tuple[str, ...]
    page: str

    @property
    def title(self) -> str:
        """What they are of."""
        what = "Cruise" if self.kind == "cruise" else f"{self.kind.capitalize()}s"
        flaps = "" if self.flap_setting == "up" else f"flaps {self.flap_setting}"
        return ", ".join(word for word in (what, self.power_state, flaps) if word)


def climbs_path(type_name: str) -> str:
    """Return the name of a type's page of climbs, from the root of the site."""
    return f"climbs/{file_stem(type_name)}.html"
