"""What is told of climbs and glides across the fleet, in rates.

Verdicts and comparisons come from the functions that judge the position error;
here they get the names and units of rates.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from fleetcal.services.curves.airframe_verdict import AirframeVerdict
from fleetcal.services.curves.compare_curves import Comparison, Side
from fleetcal.services.curves.judge_airframes import Judgement
from fleetcal.services.curves.standing_detail import StandingDetail
from fleetcal.services.performance.climb_groups import FlownClimbs


@dataclass(frozen=True, kw_only=True)
class RateDeparture:
    """Departure of the rate from the group's at one CAS, with its 95 % band."""

    airframe: str
    pairing: str
    cas_kt: float
    departure_ftmin: float
    low_ftmin: float
    high_ftmin: float


@dataclass(frozen=True, kw_only=True)
class ClimbVerdict:
    """One airframe against the others of its pairing; fields as `AirframeVerdict`."""

    airframe: str
    pairing: str
    verdict: str
    outside: bool
    reason: str
    largest_departure_ftmin: float | None
    at_cas_kt: float | None
    p_value: float | None
    adjusted_p_value: float | None
    others: int
    measurements: int
    set_aside: bool
    rows: tuple[RateDeparture, ...]


@dataclass(frozen=True, kw_only=True)
class ClimbFinding:
    """A measurement, or a sortie, that disagrees with its own airframe."""

    airframe: str
    pairing: str
    is_sortie: bool
    climb_ids: tuple[int, ...]
    said: str


@dataclass(frozen=True)
class HeavyClimb:
    """A measurement with its share, in percent, of the departure at the worst speed."""

    climb_id: int
    flown_on: date
    cas_kt: float
    share_percent: float


@dataclass(frozen=True, kw_only=True)
class ClimbDetail:
    """What a standing rests on, and what would settle it."""

    airframe: str
    pairing: str
    sorties: int
    heaviest: tuple[HeavyClimb, ...]
    settles: str


@dataclass(frozen=True, kw_only=True)
class ClimbJudgement:
    """Every airframe judged by its climbs or glides; fields as `Judgement`."""

    type: str
    kind: str
    power_state: str
    flap_setting: str
    weight_kg: float
    altitude_ft: float
    judged: int
    airframes: tuple[ClimbVerdict, ...]
    left_out: tuple[str, ...]
    disagreements: tuple[ClimbFinding, ...]
    model: str
    fitted_airframes: int
    fitted_sorties: int
    fitted_points: int
    spread_degrees_of_freedom: int
    details: tuple[ClimbDetail, ...]
    notes: tuple[str, ...]

    @property
    def any_outside(self) -> bool:
        """Whether an airframe was found outside its pairing."""
        return any(a.outside for a in self.airframes)


@dataclass(frozen=True, kw_only=True)
class RateDifference:
    """Second curve less first at one CAS, in ft/min; fields as `DifferenceRow`."""

    cas_kt: float
    first_ftmin: float
    second_ftmin: float
    difference_ftmin: float
    low_ftmin: float
    high_ftmin: float
    smallest_shown_ftmin: float


@dataclass(frozen=True, kw_only=True)
class ClimbComparison:
    """Two curves of climbs or glides compared; fields as `Comparison`."""

    question: str
    type: str
    kind: str
    power_state: str
    flap_setting: str
    weight_kg: float
    altitude_ft: float
    first: Side
    second: Side
    rows: tuple[RateDifference, ...]
    p_value: float
    differ: bool
    verdict: str
    model: str
    doubts: tuple[str, ...]
    each: tuple[str, ...]
    notes: tuple[str, ...]
    without: tuple[str, ...] = ()


def judged_in_rates(judged: Judgement, flown: FlownClimbs) -> ClimbJudgement:
    """Return a judgement in rates.

    Args:
        flown: That it judges.
    """
    return ClimbJudgement(
        type=judged.type,
        kind=flown.kind,
        power_state=flown.power_state,
        flap_setting=judged.flap_setting,
        weight_kg=judged.weight_kg,
        altitude_ft=flown.altitude_ft,
        judged=judged.judged,
        airframes=tuple(_verdict(one) for one in judged.airframes),
        left_out=judged.left_out,
        disagreements=tuple(
            ClimbFinding(
                airframe=one.airframe,
                pairing=one.group,
                is_sortie=one.is_sortie,
                climb_ids=one.point_ids,
                said=one.said,
            )
            for one in judged.disagreements
        ),
        model=judged.model,
        fitted_airframes=judged.fitted_airframes,
        fitted_sorties=judged.fitted_sorties,
        fitted_points=judged.fitted_points,
        spread_degrees_of_freedom=judged.spread_degrees_of_freedom,
        details=tuple(_detail(one) for one in judged.details),
        notes=flown.notes,
    )


def _verdict(one: AirframeVerdict) -> ClimbVerdict:
    return ClimbVerdict(
        airframe=one.airframe,
        pairing=one.group,
        verdict=one.verdict,
        outside=one.outside,
        reason=one.reason,
        largest_departure_ftmin=one.largest_departure_kt,
        at_cas_kt=one.at_ias_kt,
        p_value=one.p_value,
        adjusted_p_value=one.adjusted_p_value,
        others=one.others,
        measurements=one.points,
        set_aside=one.set_aside,
        rows=tuple(
            RateDeparture(
                airframe=row.airframe,
                pairing=row.group,
                cas_kt=row.ias_kt,
                departure_ftmin=row.departure_kt,
                low_ftmin=row.low_kt,
                high_ftmin=row.high_kt,
            )
            for row in one.rows
        ),
    )


def _detail(one: StandingDetail) -> ClimbDetail:
    heaviest = tuple(
        HeavyClimb(p.point_id, p.flown_on, p.ias_kt, p.share_percent) for p in one.heaviest
    )
    return ClimbDetail(
        airframe=one.airframe,
        pairing=one.group,
        sorties=one.sorties,
        heaviest=heaviest,
        settles=one.settles,
    )


def compared_in_rates(found: Comparison, flown: FlownClimbs) -> ClimbComparison:
    """Return a comparison in rates.

    Args:
        flown: That it compares.
    """
    return ClimbComparison(
        question=found.question,
        type=found.type,
        kind=flown.kind,
        power_state=flown.power_state,
        flap_setting=found.flap_setting,
        weight_kg=found.weight_kg,
        altitude_ft=flown.altitude_ft,
        first=found.first,
        second=found.second,
        rows=tuple(
            RateDifference(
                cas_kt=row.ias_kt,
                first_ftmin=row.first_kt,
                second_ftmin=row.second_kt,
                difference_ftmin=row.difference_kt,
                low_ftmin=row.low_kt,
                high_ftmin=row.high_kt,
                smallest_shown_ftmin=row.smallest_shown_kt,
            )
            for row in found.rows
        ),
        p_value=found.p_value,
        differ=found.differ,
        verdict=found.verdict,
        model=found.model,
        doubts=found.doubts,
        each=found.each,
        notes=flown.notes,
        without=tuple(map(str, found.without)),
    )
