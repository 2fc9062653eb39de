"""How measured points and the budget of one point are printed."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

from fleetcal.cli.accept_words import accept_words
from fleetcal.cli.output import ALWAYS, DETAIL, SPARE, Column, View
from fleetcal.wording import counted, decimal, with_sign

if TYPE_CHECKING:
    from fleetcal.services.measurements.measure_points import Measurement
    from fleetcal.services.points.point_budget import PointBudget

#: Points whose corrections are sentences; the table has all.
_SENTENCES: Final = 4


def _measurement_answer(result: Measurement) -> Iterator[str]:
    if not result.points:
        yield f"Nothing in {result.source} gives a point."
        return
    many = counted(len(result.points), "point")
    be = "was" if len(result.points) == 1 else "were"
    of_whom = f" of {result.airframe}" if result.airframe else ""
    yield f"{many[0].upper()}{many[1:]}{of_whom} {be} measured by {result.technique}."
    for one in result.points[:_SENTENCES]:
        way = "add" if one.dvpc_kt >= 0.0 else "take"
        where = "to the reading" if one.dvpc_kt >= 0.0 else "off the reading"
        yield (
            f"At {one.vic_kt:.0f} kt {way} {decimal(abs(one.dvpc_kt))} kt {where} "
            f"(one standard uncertainty: {decimal(one.u_as_read_kt)} kt)."
        )


def _measurement_head(result: Measurement) -> Iterator[str]:
    who = result.airframe or "no airframe named"
    when = result.flown_on or "no date"
    yield f"{result.source}: {result.technique}, {who}, {when}, flaps {result.flap_setting}"


def _measurement_foot(result: Measurement) -> Iterator[str]:
    if result.points:
        yield (
            "Corrections are added to the reading; u is one standard uncertainty, of dVpc as this "
            "indicator reads, whoever errs (as read), and of the port alone."
        )
    for point in result.points:
        if not point.accepted:
            yield f"Point {point.point} is kept but not accepted: {point.reason}."
        elif point.remark:
            yield f"Point {point.point}: {point.remark}."
    yield from result.notes
    if result.yardstick:
        yield result.yardstick
    if result.stored:
        yield f"Stored as sortie {result.sortie_id}."
        if not all(point.accepted for point in result.points):
            yield accept_words(result.airframe)
    elif result.known_already:
        yield f"Nothing stored: sortie {result.sortie_id} has this content already."
    else:
        yield "Preview: nothing stored."


MEASUREMENT: View[Measurement] = View(
    kind="measurement",
    rows="points",
    columns=[
        Column("point", importance=ALWAYS),
        Column("line", importance=SPARE),
        Column("vic_kt", 1, importance=ALWAYS),
        Column("pressure_altitude_ft", 0, heading="pressure altitude"),
        Column("tas_kt", 1),
        Column("dvpc_kt", 2, sign=True),
        Column("u_as_read_kt", 2),
        Column("u_dvpc_kt", 2),
        Column("dhpc_ft", 0, sign=True),
        Column("u_dhpc_ft", 0),
        Column("accepted"),
        Column("kappa", 4, sign=True, importance=SPARE),
        Column("u_kappa", 4, importance=SPARE),
    ],
    answer=_measurement_answer,
    head=_measurement_head,
    foot=_measurement_foot,
    cautioned=True,
)


def _budget_answer(budget: PointBudget) -> Iterator[str]:
    largest = budget.terms[0] if budget.terms else None
    most = f"; the largest part is {largest.name}, {largest.share_percent:.0f} %" if largest else ""
    yield (
        f"The correction of point {budget.point_id}, {with_sign(budget.dvpc_kt)} kt at "
        f"{budget.vic_kt:.0f} kt, is known to ±{budget.U95_dvpc_kt:.1f} kt (95 %){most}."
    )


def _budget_head(budget: PointBudget) -> Iterator[str]:
    yield (
        f"Point {budget.point_id}: {budget.airframe}, {budget.flown_on}, {budget.technique}, "
        f"Vic {budget.vic_kt:.1f} kt, {budget.pressure_altitude_ft:.0f} ft"
    )
    yield (
        f"kappa {with_sign(budget.kappa, 4)}, u {budget.u_kappa:.4f}; "
        f"dVpc {with_sign(budget.dvpc_kt, 2)} kt, u {budget.u_dvpc_kt:.2f} kt; "
        f"dHpc {with_sign(budget.dhpc_ft, 0)} ft, u {budget.u_dhpc_ft:.0f} ft"
    )


def _budget_foot(budget: PointBudget) -> Iterator[str]:
    freedom = budget.scatter_degrees_of_freedom
    count = (
        "" if freedom is None else f"Scatter is estimated with {freedom:.0f} degrees of freedom; "
    )
    factor = f"coverage factor {budget.coverage_factor:.2f}"
    yield (
        f"{count}{factor}: "
        f"U95 of kappa {budget.U95_kappa:.4f}, of dVpc {budget.U95_dvpc_kt:.2f} kt, "
        f"of dHpc {budget.U95_dhpc_ft:.0f} ft; of dVpc as this indicator reads, whoever errs, "
        f"{budget.U95_as_read_kt:.2f} kt"
    )
    yield "owner: all its points have the same unknown error; kind A from scatter, B otherwise"
    if abs(budget.unexplained_percent) >= 0.1:
        yield f"The terms leave {budget.unexplained_percent:.1f} % of the variance unexplained."
    if not budget.accepted:
        yield f"Not accepted: {budget.reason}."
    if budget.barred:
        yield f"Barred from every pool: {budget.barred}."


BUDGET: View[PointBudget] = View(
    kind="budget",
    rows="terms",
    columns=[
        Column("term", wraps=True, importance=ALWAYS),
        Column("share_percent", 1),
        Column("u_dvpc_kt", 3),
        Column("u_kappa", 5, importance=SPARE),
        Column("owner"),
        Column("kind", importance=DETAIL),
        Column("note", wraps=True, importance=SPARE),
    ],
    answer=_budget_answer,
    head=_budget_head,
    foot=_budget_foot,
)
