"""How much each airframe has in each group, counted by the database.

Points are counted by sortie, and the counts of sorties are added up here as they come, so that
the memory is that of the airframes (`python -m tests.bench.store_scale`). What bars a sortie is
known outside the database.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from typing import Final

from fleetcal.store.flown_equipment import with_equipment
from fleetcal.store.leak_rows import barred_sorties
from fleetcal.store.plain_reads import Reader, ask
from fleetcal.store.unfit_rows import UNFIT, is_unfit

#: Rows that are fetched at a time.
_PART: Final = 2000


@dataclass(frozen=True, order=True, kw_only=True)
class CountedIn:
    """Type, equipment and flap setting of a group."""

    type: str
    static_source: str
    engine: str
    propeller: str
    flap_setting: str


@dataclass(kw_only=True)
class MemberCount:
    """What one airframe has in one group.

    Attributes:
        sorties, points: That count, with the slowest and the fastest of them.
        rejected: Points that somebody rejected.
        barred: Accepted points of sorties that a failed leak check bars, or that no fit can use.
        reasons: Why points do not count, by the days flown, and how many for each reason.
    """

    sorties: int = 0
    points: int = 0
    rejected: int = 0
    barred: int = 0
    slowest_kt: float | None = None
    fastest_kt: float | None = None
    reasons: Counter[str] = field(default_factory=Counter)


#: Points of a sortie that are alike, counted: what a group is told of them.
_COUNTED: Final = f"""(
    SELECT sortie_id, flap_setting, accepted, reason, unfit,
        count(*) AS points, min(number) AS first_number, min(vic_kt) AS slowest_kt,
        max(vic_kt) AS fastest_kt
    FROM (
        SELECT sortie_id, flap_setting, accepted, reason, number, vic_kt, {is_unfit()} AS unfit
        FROM calibration_point
        JOIN sortie ON sortie.id = calibration_point.sortie_id
        JOIN airframe ON airframe.id = sortie.airframe_id
        JOIN aircraft_type ON aircraft_type.id = airframe.aircraft_type_id
    ) AS alike
    GROUP BY sortie_id, flap_setting, accepted, reason, unfit
) AS counted"""


def count_groups(reader: Reader) -> dict[CountedIn, dict[str, MemberCount]]:
    """Return what each group has, by the tags of its airframes; two queries in general."""
    barred = barred_sorties(reader)
    query = f"""SELECT airframe.tag, counted.sortie_id, aircraft_type.name, static_source.name,
            engine.name, propeller.name, flap_setting,
            accepted, reason, unfit, points, slowest_kt, fastest_kt
        {with_equipment(_COUNTED, "counted.sortie_id")}
        ORDER BY sortie.flown_on, sortie.id, first_number"""
    found: dict[tuple[str, ...], dict[str, MemberCount]] = {}
    last_sortie: dict[tuple[str, ...], int] = {}
    for row in ask(reader, query, at_once=_PART):
        tag, sortie, *key, accepted, reason, unfit_ones, points, slowest, fastest = row
        group = tuple(key)
        member = found.setdefault(group, {}).setdefault(tag, MemberCount())
        why = UNFIT if unfit_ones else barred.get(sortie, "")
        if not accepted or why:
            member.rejected += 0 if accepted else points
            member.barred += points if accepted else 0
            member.reasons[why or reason] += points
            continue
        member.sorties += last_sortie.get(group) != sortie  # its rows come one after another
        last_sortie[group] = sortie
        member.points += points
        known = (member.slowest_kt, member.fastest_kt)
        member.slowest_kt = slowest if known[0] is None else min(known[0], slowest)
        member.fastest_kt = fastest if known[1] is None else max(known[1], fastest)
    return {
        CountedIn(**dict(zip(CountedIn.__dataclass_fields__, group, strict=True))): members
        for group, members in found.items()
    }
