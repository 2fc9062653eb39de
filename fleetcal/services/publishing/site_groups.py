"""The groups of one type and flap setting, fitted and judged once for all pages of the site."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

from fleetcal.errors import FleetcalError
from fleetcal.fleet.model_checks import fit_checked
from fleetcal.publish.site.content import (
    CarriedLine,
    GroupPage,
    GroupSortie,
    HandbookBlock,
    MemberLine,
)
from fleetcal.publish.table_form import TableForm
from fleetcal.services.curves.airframe_verdict import AirframeVerdict, largest_row
from fleetcal.services.curves.fitted_group import FittedGroup
from fleetcal.services.curves.group_name import Member
from fleetcal.services.curves.groups import sort_points
from fleetcal.services.curves.judge_airframes import judge_known
from fleetcal.services.curves.once import once
from fleetcal.services.curves.pool_members import AirframeLeftOut, pool_of
from fleetcal.services.curves.pooled_curve import CurveRequest, describe_curve
from fleetcal.services.curves.pooled_point import PooledPoint
from fleetcal.services.curves.position_error import stored_points
from fleetcal.services.curves.quantity import ReadPoints
from fleetcal.services.curves.set_aside import judge_set_aside, rows_set_aside
from fleetcal.services.curves.type_points import TypePoints
from fleetcal.services.handbook.carried_limits import limits_on_port
from fleetcal.services.handbook.carry_speeds import carry_to_port
from fleetcal.services.handbook.compare_handbook import compare_with_port
from fleetcal.services.handbook.fitted_port import FittedPort
from fleetcal.services.handbook.handbook_table import HandbookTable
from fleetcal.services.handbook.limit_sources import stated_limits
from fleetcal.services.publishing.discreet_table import discreet_table
from fleetcal.services.publishing.discretion import Discretion
from fleetcal.services.publishing.site_lists import sortie_lines
from fleetcal.services.publishing.table_of_group import plotted_points, table_of_group
from fleetcal.store import HandbookDescription, IssueLine, StoredPoint


@dataclass(frozen=True, kw_only=True)
class FittedType:
    """The groups of a type at one flap setting.

    Attributes:
        notes: Which groups are too small, or why nothing could be fitted.
        left_out: Who is not in the pool although points of it count.
    """

    type: str
    flap_setting: str
    pages: tuple[GroupPage, ...]
    verdicts: tuple[AirframeVerdict, ...]
    notes: tuple[str, ...]
    left_out: tuple[AirframeLeftOut, ...] = ()


@dataclass(frozen=True)
class SiteTables:
    """What the tables of the site are for.

    Attributes:
        weight_kg: Of all tables; each type's reference weight when None.
        altitude_ft: Pressure altitude that the altimeter corrections are for.
        speed_unit: ``kt``, ``mph`` or ``km/h``; of the tables of corrections and their figures.
    """

    weight_kg: float | None = None
    altitude_ft: float = 0.0
    step_kt: float = 5.0
    speed_unit: str = "kt"

    @property
    def form(self) -> TableForm:
        """Direction and unit of the tables."""
        return TableForm(speed_unit=self.speed_unit)


@dataclass(frozen=True, kw_only=True)
class SiteSources:
    """What group pages need besides the points."""

    made_on: date
    handbooks: Sequence[HandbookDescription]
    issues: Sequence[IssueLine]
    discretion: Discretion
    tables: SiteTables = SiteTables()


def fit_type(read: ReadPoints, sources: SiteSources) -> FittedType:
    """Fit and judge all groups of a type at one flap setting.

    Args:
        read: Its points.

    Returns:
        Without pages, and with the reason, if no group can be fitted.
    """
    discreet = sources.discretion.words
    type_name, flap_setting = read.type.name, read.flap_setting
    try:
        known = sort_points(read, ())
        judged, verdicts = judge_known(known)
        pool = pool_of(known, verdicts)
        aside = _aside(known)
        verdicts = [*judge_set_aside(known, judged, aside), *verdicts]
        fit, checks = once(fit_checked, pool.known.points, None)
    except FleetcalError as error:
        return FittedType(
            type=type_name,
            flap_setting=flap_setting,
            pages=(),
            verdicts=(),
            notes=(discreet(f"{type_name}: {error.message}."),),
        )
    pages, tables = [], sources.tables
    reference = known.type.reference_weight_kg
    for number, name in enumerate(pool.known.groups):
        fitted = FittedGroup(
            request=CurveRequest(
                group=str(name),
                type=type_name,
                flap_setting=flap_setting,
                altitude_ft=tables.altitude_ft,
                step_kt=tables.step_kt,
            ),
            known=pool.known,
            name=name,
            number=number,
            fit=fit,
            weight_kg=reference if tables.weight_kg is None else tables.weight_kg,
            check=checks[number],
            pool=pool,
        )
        rows = known.rows_of(known.groups.index(name))
        aside_here = [row for m, own in aside.items() if m.group == name for row in own]
        pages.append(_page(fitted, verdicts, rows=rows, aside=aside_here, sources=sources))
    notes = tuple(discreet(f"{sentence}.") for sentence in known.too_small)
    return FittedType(
        type=type_name,
        flap_setting=flap_setting,
        pages=tuple(pages),
        verdicts=tuple(verdicts),
        notes=notes,
        left_out=pool.left_out,
    )


def _aside(known: TypePoints) -> dict[Member, list[PooledPoint]]:
    rows = (*known.rejected, *known.barred)
    return rows_set_aside(rows, {*known.members, *known.in_small_groups}, known.groups)


def _page(
    fitted: FittedGroup,
    verdicts: Sequence[AirframeVerdict],
    rows: Sequence[PooledPoint],
    aside: Sequence[PooledPoint],
    sources: SiteSources,
) -> GroupPage:
    discreet = sources.discretion.words
    curve = describe_curve(fitted)
    sorties = _sorties(stored_points([*rows, *aside]), sources.discretion)
    flown = Counter(sortie.airframe for sortie in sorties)
    own = [verdict for verdict in verdicts if verdict.group == str(fitted.name)]
    limits = stated_limits(fitted.known.type, sources.handbooks)
    table = table_of_group(fitted, curve, sources.made_on, form=sources.tables.form, limits=limits)
    members = tuple(
        MemberLine(
            airframe=verdict.airframe,
            points=verdict.points,
            sorties=flown[verdict.airframe],
            verdict=verdict.verdict,
            largest_departure_kt=verdict.largest_departure,
            at_ias_kt=verdict.at_speed_kt,
            reason=discreet(verdict.reason),
            low_kt=largest_row(verdict.rows).low if verdict.rows else None,
            high_kt=largest_row(verdict.rows).high if verdict.rows else None,
        )
        for verdict in sorted(own, key=lambda v: (not v.if_counted, not v.outside, v.airframe))
    )
    flaps = fitted.known.flap_setting
    handbooks = tuple(
        _handbook(HandbookTable(book), fitted, sources)
        for book in sources.handbooks
        if book.type == fitted.known.type.name and book.flap_setting == flaps and len(book.rows) > 1
    )
    issues = tuple(
        discreet(_issue_words(line))
        for line in sources.issues
        if (line.type, line.flap_setting) == (fitted.known.type.name, flaps)
        and line.group in (str(fitted.name), fitted.name.static_source)
    )
    left_out = {one.airframe for one in fitted.without}
    return GroupPage(
        name=str(fitted.name),
        table=discreet_table(table, sources.discretion),
        members=members,
        handbooks=handbooks,
        issues=issues,
        outside_points=plotted_points(
            [row for row in stored_points(rows) if row.airframe in left_out], fitted.weight_kg
        ),
        sorties=sorties,
    )


def _sorties(rows: Sequence[StoredPoint], discretion: Discretion) -> tuple[GroupSortie, ...]:
    """Return the sorties of a group, those of an airframe together."""
    flown: dict[str, list[StoredPoint]] = {}
    for row in rows:
        flown.setdefault(row.airframe, []).append(row)
    return tuple(
        GroupSortie(**vars(line), airframe=tag)
        for tag, own in sorted(flown.items())
        for line in sortie_lines(own, discretion)
    )


def _issue_words(line: IssueLine) -> str:
    gone = f" Withdrawn on {line.withdrawn_on}: {line.withdrawn}." if line.withdrawn else ""
    return f"{line.group}: issue {line.number} of {line.issued_on}: {line.why}.{gone}"


def _handbook(table: HandbookTable, fitted: FittedGroup, sources: SiteSources) -> HandbookBlock:
    """Hold a handbook against the group, at the handbook's weight."""
    port = FittedPort(replace(fitted, weight_kg=table.book.weight_kg))
    found = compare_with_port(table, port, sources.tables.step_kt)
    rows = tuple(
        (r.ias_kt, r.handbook_kt, r.curve_kt, r.difference_kt, r.low_kt, r.high_kt)
        for r in found.rows
        if r.difference_kt is not None
    )
    note = caution = ""
    speeds: tuple[CarriedLine, ...] = ()
    if table.book.speeds:
        try:
            carried = carry_to_port(table, port, limits_on_port(port, sources.handbooks))
        except FleetcalError as error:
            note = f"Its speeds cannot be carried across: {error.message}."
        else:
            caution = carried.limit_caution
            speeds = tuple(
                CarriedLine(
                    speed=s.speed,
                    handbook_ias_kt=s.handbook_ias_kt,
                    cas_kt=s.cas_kt,
                    ias_kt=s.ias_kt,
                    next_low_kt=s.next_low_kt,
                    next_high_kt=s.next_high_kt,
                    not_above_kt=s.not_above_kt,
                    limit=s.limit,
                    note=sources.discretion.words(s.note),
                )
                for s in carried.speeds
            )
    title = f"{table.book.name}, flown with {table.book.static_source}"
    discreet = sources.discretion.words
    return HandbookBlock(
        title=discreet(title),
        verdict=discreet(found.verdict),
        rows=rows,
        speeds=speeds,
        speeds_note=discreet(note),
        limit_caution=caution,
    )
