"""What is said of airframes that were judged."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from fleetcal.fleet.outliers import Verdicts
from fleetcal.services.curves.airframe_verdict import AirframeVerdict
from fleetcal.services.curves.cluster_words import LooksLikeTwo, groups_like_two
from fleetcal.services.curves.group_name import Member
from fleetcal.services.curves.own_findings import OwnFinding
from fleetcal.services.curves.quantity import Quantity
from fleetcal.services.curves.standing_detail import StandingDetail
from fleetcal.services.curves.standing_words import judging_model_words
from fleetcal.services.curves.type_points import TypePoints
from fleetcal.services.field_names import NEVER_PRINTED, PERFORMANCE_ONLY, printed


@dataclass(frozen=True, kw_only=True)
class Judgement:
    """Every airframe judged.

    Attributes:
        kind: Key of the quantity.
        weight_kg: Weight that the airspeeds are for.
        altitude_ft: Pressure altitude in standard air that the numbers are for.
        judged: Airframes that got a verdict.
        airframes: Outside first, then by group and tag.
        disagreements: Points and sorties that disagree with their own airframe, of those shown.
        fitted_airframes, fitted_sorties, fitted_points: What the model was fitted to, all groups of
            the type together.
        spread_degrees_of_freedom: Airframes less groups: what tells how airframes differ.
        details: Of each of `airframes` when one airframe was asked for.
        two_clusters: Groups shown that look like two.
        second_opinions: Of another program, where asked for, a sentence each.
        notes: On how the numbers came about.
    """

    quantity: Quantity = field(metadata=NEVER_PRINTED)
    type: str
    kind: str = field(metadata=printed(only=PERFORMANCE_ONLY))
    power_state: str = field(metadata=printed(only=PERFORMANCE_ONLY))
    flap_setting: str
    weight_kg: float
    altitude_ft: float | None = field(metadata=printed(only=PERFORMANCE_ONLY))
    judged: int
    airframes: tuple[AirframeVerdict, ...]
    left_out: tuple[str, ...]
    disagreements: tuple[OwnFinding, ...]
    model: str
    fitted_airframes: int
    fitted_sorties: int
    fitted_points: int
    spread_degrees_of_freedom: int
    details: tuple[StandingDetail, ...] = ()
    two_clusters: tuple[LooksLikeTwo, ...] = ()
    second_opinions: tuple[str, ...] = ()
    notes: tuple[str, ...] = field(default=(), metadata=printed(only=PERFORMANCE_ONLY))

    @property
    def any_outside(self) -> bool:
        """Whether an airframe was found outside its group."""
        return any(a.outside for a in self.airframes)


def judged(
    known: TypePoints,
    verdicts: Verdicts,
    *,
    airframes: tuple[AirframeVerdict, ...],
    left_out: tuple[str, ...],
    disagreements: tuple[OwnFinding, ...],
    fitted_airframes: int,
    fitted_sorties: int,
    fitted_points: int,
    members: Sequence[Member],
    details: tuple[StandingDetail, ...] = (),
) -> Judgement:
    """Return a judgement of some airframes of a type.

    Args:
        verdicts: On all its airframes.
        members: One for each aircraft of the verdicts.
    """
    clusters = groups_like_two(known, verdicts.fit.sums, members)
    shown = {one.group for one in airframes}
    return Judgement(
        quantity=known.quantity,
        type=known.type.name,
        kind=known.quantity.key,
        power_state=known.flown.power_state,
        flap_setting=known.flap_setting,
        weight_kg=known.weight_kg,
        altitude_ft=known.flown.altitude_ft,
        judged=int(np.isfinite(verdicts.adjusted).sum()),
        airframes=airframes,
        left_out=left_out,
        disagreements=disagreements,
        model=judging_model_words(
            known.quantity, verdicts.fit, len(known.groups), known.usual, fitted_airframes
        ),
        fitted_airframes=fitted_airframes,
        fitted_sorties=fitted_sorties,
        fitted_points=fitted_points,
        spread_degrees_of_freedom=fitted_airframes - len(known.groups),
        details=details,
        two_clusters=tuple(one for one in clusters if one.group in shown),
        notes=known.flown.notes,
    )
