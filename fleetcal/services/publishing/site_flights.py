"""The pages of airframes and sorties, from the points and legs of the whole store."""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

from fleetcal.errors import FleetcalError
from fleetcal.publish.site.content import GroupPage
from fleetcal.publish.site.content_airframe import (
    AirframeSummary,
    ChangeBlock,
    GroupStanding,
    SiteFit,
    WatchBlock,
)
from fleetcal.publish.site.content_sortie import (
    Neighbour,
    RunPicture,
    SitePoint,
    SortiePage,
    TermLine,
)
from fleetcal.records import Leg, Point, values_of
from fleetcal.services.curves.airframe_verdict import AirframeVerdict
from fleetcal.services.curves.check_change import FlownFits, fit_on
from fleetcal.services.curves.group_name import GroupName
from fleetcal.services.curves.pool_members import AirframeLeftOut
from fleetcal.services.curves.set_aside import SET_ASIDE, reasons_words
from fleetcal.services.publishing.discretion import Discretion
from fleetcal.services.publishing.site_lists import mean_wind
from fleetcal.services.publishing.sortie_facts import sortie_facts
from fleetcal.services.publishing.table_of_group import plotted_points
from fleetcal.store import (
    AirframeDescription,
    StoredPoint,
    runs_of_rows,
)


@dataclass(frozen=True)
class Judged:
    """Pages and verdicts by (type, group, flap setting) and airframe, and who is left out."""

    pages: Mapping[tuple[str, str, str], GroupPage]
    verdicts: Mapping[str, Sequence[tuple[tuple[str, str, str], AirframeVerdict]]]
    left_out: Mapping[tuple[str, str, str, str], AirframeLeftOut]

    def why_out(self, row: StoredPoint) -> str:
        """Return why a point is in no pool, or nothing."""
        if not row.accepted or row.barred:
            return row.barred or row.reason
        found = self.left_out.get((row.airframe, *_key(row)))
        return "" if found is None else f"the airframe {found.reason.removeprefix('which ')}"


def _key(row: StoredPoint) -> tuple[str, str, str]:
    return row.type, _group_words(row.static_source, row.engine, row.propeller), row.flap_setting


@lru_cache(maxsize=1000)
def _group_words(static_source: str, engine: str, propeller: str) -> str:
    return str(GroupName(static_source, engine, propeller))


def point_line(row: StoredPoint, judged: Judged, discretion: Discretion) -> SitePoint:
    """Return a point as pages list it."""
    return SitePoint(
        **values_of(Point, row) | {"reason": ""},
        flown=discretion.day(row.flown_on),
        sortie=row.sortie_id,
        group=_group_words(row.static_source, row.engine, row.propeller),
        out=discretion.words(judged.why_out(row)),
    )


def summary_of(
    airframe: AirframeDescription,
    rows: Sequence[StoredPoint],
    judged: Judged,
    discretion: Discretion,
    watches: Sequence[WatchBlock],
) -> AirframeSummary:
    """Return what the overview shows of an airframe.

    Args:
        rows: All its points.
        watches: On it.
    """
    discreet = discretion.words
    standings = tuple(
        _group_standing(judged.pages[key], verdict, [r for r in rows if _key(r) == key], discretion)
        for key, verdict in judged.verdicts.get(airframe.tag, ())
        if key in judged.pages
    )
    return AirframeSummary(
        tag=airframe.tag,
        type=airframe.type,
        fits=tuple(
            SiteFit(
                since=discretion.day(fit.from_date),
                static_source=fit.static_source,
                engine=fit.engine,
                propeller=fit.propeller,
                pitot=discreet(fit.pitot),
            )
            for fit in sorted(airframe.fits, key=lambda f: f.from_date)
        ),
        standings=standings,
        points=tuple(point_line(row, judged, discretion) for row in rows),
        verdict=_verdict([verdict for _, verdict in judged.verdicts.get(airframe.tag, ())]),
        alarms=tuple(one.picture.verdict for one in watches if one.picture.changes),
    )


def _group_standing(
    page: GroupPage, verdict: AirframeVerdict, rows: Sequence[StoredPoint], discretion: Discretion
) -> GroupStanding:
    aside = verdict.verdict == SET_ASIDE
    shown = rows if aside else [row for row in rows if row.accepted and not row.barred]
    return GroupStanding(
        group=verdict.group,
        group_page=page.path,
        table=page.table,
        verdict=verdict.verdict,
        reason=discretion.words(verdict.reason),
        rows=tuple((r.speed_kt, r.departure, r.low, r.high) for r in verdict.rows),
        points=plotted_points(shown, page.table.weight_kg),
        largest_departure_kt=verdict.largest_departure,
        at_ias_kt=verdict.at_speed_kt,
        why_aside=discretion.words(reasons_words(rows)) if aside else "",
    )


def _verdict(verdicts: Sequence[AirframeVerdict]) -> str:
    found = {one.verdict for one in verdicts}
    for word in (SET_ASIDE, "outside", "undecided", "inside"):
        if word in found:
            return word
    return "not judged"


def changes_of(
    flown_fits: Callable[[str, str], FlownFits],
    airframe: AirframeDescription,
    rows: Sequence[StoredPoint],
    discretion: Discretion,
) -> list[ChangeBlock]:
    """Check the last change of equipment at each flap setting that was flown before and after.

    Args:
        flown_fits: Gives those of a type at a flap setting.
    """
    found = []
    for flap_setting in sorted({row.flap_setting for row in rows}):
        good = [r for r in rows if r.flap_setting == flap_setting and r.accepted and not r.barred]
        fits = [fit_on(airframe, day) for day in {row.flown_on for row in good}]
        if len({fit.from_date for fit in fits if fit is not None}) < 2:
            continue
        try:
            change = flown_fits(airframe.type, flap_setting).check([airframe.tag])
        except FleetcalError as error:
            found.append(ChangeBlock(f"Flaps {flap_setting}.", discretion.words(error.message), ()))
            continue
        cells = tuple(
            (r.speed_kt, r.first, r.second, r.difference, r.low, r.high) for r in change.rows
        )
        question = discretion.words(f"Flaps {flap_setting}. {change.question}.")
        found.append(ChangeBlock(question, discretion.words(change.verdict), cells))
    return found


def sortie_of(
    rows: Sequence[StoredPoint],
    legs: Sequence[Leg],
    settings_json: str,
    airframe_page: str,
    judged: Judged,
    discretion: Discretion,
) -> SortiePage:
    """Return the page of a sortie.

    Args:
        rows: Its points.
        settings_json: As it is kept with the sortie.
    """
    first = rows[0]
    return SortiePage(
        number=first.sortie_id,
        airframe=first.airframe,
        airframe_page=airframe_page,
        flown=discretion.day(first.flown_on),
        technique=first.technique,
        flap_setting=first.flap_setting,
        weight_kg=first.weight_kg,
        track_reference=first.track_reference,
        barred=discretion.words(first.barred),
        points=tuple(point_line(row, judged, discretion) for row in rows),
        legs=tuple(legs),
        runs=_runs(rows, legs),
        terms=_terms(rows),
        wind=_wind(settings_json, discretion),
        mean_wind=mean_wind(rows),
        facts=sortie_facts(rows, legs, settings_json),
        groups=tuple(
            Neighbour(judged.pages[key].name, judged.pages[key].path)
            for key in dict.fromkeys(map(_key, rows))
            if key in judged.pages
        ),
    )


def _wind(settings_json: str, discretion: Discretion) -> tuple[str, ...]:
    """Return what the reduction found of the wind, as far as it is kept as text."""
    wind = json.loads(settings_json).get("wind", [])
    if not isinstance(wind, list):
        return ()
    return tuple(discretion.words(words) for words in wind if isinstance(words, str))


def _runs(rows: Sequence[StoredPoint], legs: Sequence[Leg]) -> tuple[RunPicture, ...]:
    """Return a picture of each run whose legs, wind and true airspeed are known."""
    pictures = []
    numbers = runs_of_rows(rows, legs)
    if numbers is None:  # the vectors of one run must not stand about the circle of another
        return ()
    for row, number in zip(rows, numbers, strict=True):
        known = [
            (leg.leg_number, (leg.ground_east_kt, leg.ground_north_kt), leg.residual_kt)
            for leg in legs
            if leg.run_number == number
            and leg.ground_east_kt is not None
            and leg.ground_north_kt is not None
        ]
        if (
            not known
            or row.tas_kt is None
            or row.wind_speed_kt is None
            or row.wind_from_deg is None
        ):
            continue
        coming = math.radians(row.wind_from_deg)
        pictures.append(
            RunPicture(
                run=number,
                legs=tuple(leg for leg, _, _ in known),
                ias_kt=row.vic_kt,
                tas_kt=row.tas_kt,
                wind_east_kt=-row.wind_speed_kt * math.sin(coming),
                wind_north_kt=-row.wind_speed_kt * math.cos(coming),
                tips=tuple(tip for _, tip, _ in known),
                residuals_kt=tuple(residual for _, _, residual in known),
            )
        )
    return tuple(pictures)


def _terms(rows: Sequence[StoredPoint]) -> tuple[TermLine, ...]:
    """Return the budget: a line a term, a share a point, the largest on average first."""
    shares: dict[tuple[str, str], list[float | None]] = {}
    for place, row in enumerate(rows):
        for term in row.terms:
            line = shares.setdefault((term.name, term.owner), [None] * len(rows))
            line[place] = abs(term.u_kappa) * row.u_dvpc_kt / row.u_kappa
    found = [TermLine(name, owner, tuple(line)) for (name, owner), line in shares.items()]
    return tuple(sorted(found, key=lambda t: (-sum(s or 0.0 for s in t.shares_kt), t.name)))
