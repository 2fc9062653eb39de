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


@dataclass(frozen=True)
class RateDeparture:
    """Departure of the rate from the group's at one CAS, with its 95 % band."""

    airframe: str
    pairing: str
    cas_kt: float
    departure_ftmin: float
    low_ftmin: float
    high_ftmin: float


@dataclass(frozen=True)
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


@dataclass(frozen=True)
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


@dataclass(frozen=True)
class ClimbDetail:
    """What a standing rests on, and what would settle it."""

    airframe: str
    pairing: str
    sorties: int
    heaviest: tuple[HeavyClimb, ...]
    settles: str


@dataclass(frozen=True)
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


@dataclass(frozen=True)
class RateDifference:
    """Second curve less first at one CAS, in ft/min; fields as `DifferenceRow`."""

    cas_kt: float
    first_ftmin: float
    second_ftmin: float
    difference_ftmin: float
    low_ftmin: float
    high_ftmin: float
    smallest_shown_ftmin: float


@dataclass(frozen=True)
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
        judged.type,
        flown.kind,
        flown.power_state,
        judged.flap_setting,
        judged.weight_kg,
        flown.altitude_ft,
        judged.judged,
        tuple(_verdict(one) for one in judged.airframes),
        judged.left_out,
        tuple(
            ClimbFinding(one.airframe, one.group, one.is_sortie, one.point_ids, one.said)
            for one in judged.disagreements
        ),
        judged.model,
        judged.fitted_airframes,
        judged.fitted_sorties,
        judged.fitted_points,
        judged.spread_degrees_of_freedom,
        tuple(_detail(one) for one in judged.details),
        flown.notes,
    )


def _verdict(one: AirframeVerdict) -> ClimbVerdict:
    return ClimbVerdict(
        one.airframe,
        one.group,
        one.verdict,
        one.outside,
        one.reason,
        one.largest_departure_kt,
        one.at_ias_kt,
        one.p_value,
        one.adjusted_p_value,
        one.others,
        one.points,
        one.set_aside,
        tuple(
            RateDeparture(
                row.airframe, row.group, row.ias_kt, row.departure_kt, row.low_kt, row.high_kt
            )
            for row in one.rows
        ),
    )


def _detail(one: StandingDetail) -> ClimbDetail:
    heaviest = tuple(
        HeavyClimb(p.point_id, p.flown_on, p.ias_kt, p.share_percent) for p in one.heaviest
    )
    return ClimbDetail(one.airframe, one.group, one.sorties, heaviest, one.settles)


def compared_in_rates(found: Comparison, flown: FlownClimbs) -> ClimbComparison:
    """Return a comparison in rates.

    Args:
        flown: That it compares.
    """
    return ClimbComparison(
        found.question,
        found.type,
        flown.kind,
        flown.power_state,
        found.flap_setting,
        found.weight_kg,
        flown.altitude_ft,
        found.first,
        found.second,
        tuple(
            RateDifference(
                row.ias_kt,
                row.first_kt,
                row.second_kt,
                row.difference_kt,
                row.low_kt,
                row.high_kt,
                row.smallest_shown_kt,
            )
            for row in found.rows
        ),
        found.p_value,
        found.differ,
        found.verdict,
        found.model,
        found.doubts,
        found.each,
        flown.notes,
        tuple(map(str, found.without)),
    )
