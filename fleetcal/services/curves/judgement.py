"""What is said of airframes that were judged."""

from __future__ import annotations

from dataclasses import dataclass

from fleetcal.services.curves.airframe_verdict import AirframeVerdict
from fleetcal.services.curves.own_findings import OwnFinding
from fleetcal.services.curves.standing_detail import StandingDetail


@dataclass(frozen=True, kw_only=True)
class Judgement:
    """Every airframe judged.

    Attributes:
        weight_kg: Weight that the airspeeds are for.
        judged: Airframes that got a verdict.
        airframes: Outside first, then by group and tag.
        disagreements: Points and sorties that disagree with their own airframe, of those shown.
        fitted_airframes, fitted_sorties, fitted_points: What the model was fitted to, all groups of
            the type together.
        spread_degrees_of_freedom: Airframes less groups: what tells how airframes differ.
        details: Of each of `airframes` when one airframe was asked for.
    """

    type: str
    flap_setting: str
    weight_kg: float
    judged: int
    airframes: tuple[AirframeVerdict, ...]
    left_out: tuple[str, ...]
    disagreements: tuple[OwnFinding, ...] = ()
    model: str = ""
    fitted_airframes: int = 0
    fitted_sorties: int = 0
    fitted_points: int = 0
    spread_degrees_of_freedom: int = 0
    details: tuple[StandingDetail, ...] = ()

    @property
    def any_outside(self) -> bool:
        """Whether an airframe was found outside its group."""
        return any(a.outside for a in self.airframes)
