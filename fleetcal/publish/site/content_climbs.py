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
class ClimbsPage:
    """The climbs and glides of one type.

    Attributes:
        too_few: In sentences, what was flown and cannot be pooled.
    """

    type: str
    blocks: tuple[RatesBlock, ...]
    too_few: tuple[str, ...]

    @property
    def path(self) -> str:
        """Name of the file, from the root of the site."""
        return climbs_path(self.type)


@dataclass(frozen=True, kw_only=True)
class OwnRates:
    """What an airframe's own climbs or glides say; `page` is that of its type."""

    kind: str
    power_state: str
    flap_setting: str
    measurements: int
    answers: tuple[str, ...]
    page: str


def climbs_path(type_name: str) -> str:
    """Return the name of a type's page of climbs, from the root of the site."""
    return f"climbs/{file_stem(type_name)}.html"
