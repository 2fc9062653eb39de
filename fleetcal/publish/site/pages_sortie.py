"""The page of a sortie: its points and their budget, its ground vectors and its legs."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import Final

from fleetcal.plain_text import signed
from fleetcal.publish.page_columns import number, text
from fleetcal.publish.site.content_sortie import SitePoint, SortiePage, TermLine
from fleetcal.publish.site.frame import PageFrame
from fleetcal.publish.site.vector_figure import vector_figures
from fleetcal.publish.templating import render
from fleetcal.wording import counted

#: Smaller shares are 0.00 in the table.
_LEAST_SHOWN_KT: Final = 0.005


def sortie_page(sortie: SortiePage, frame: PageFrame) -> str:
    """Return the page of a sortie: its points and their budget, ground vectors, legs."""
    return render(
        "sortie.html",
        frame=frame,
        title=f"{sortie.airframe}, {sortie.flown}, sortie {sortie.number}",
        sortie=sortie,
        answer=_answer(sortie),
        why_out=why_out(sortie.points),
        budget_columns=[
            text(0, "Term"),
            *(
                number(place, f"{point.vic_kt:.0f} kt as read", places=2)
                for place, point in enumerate(sortie.points, 1)
            ),
        ],
        budget=[(_term_name(term), *term.shares_kt) for term in sortie.terms if _counts(term)],
        too_small=[_term_name(term) for term in sortie.terms if not _counts(term)],
        runs=vector_figures(sortie.runs),
    )


def _answer(sortie: SortiePage) -> str:
    """Say what the sortie gave: how many points, at which speeds, how large."""
    speeds = sorted(point.vic_kt for point in sortie.points)
    values = sorted(point.dvpc_kt for point in sortie.points)
    at = f"at {speeds[0]:.0f} kt as read"
    size = f"the correction to add is {signed(values[0])} kt"
    if len(speeds) > 1:
        at = f"from {speeds[0]:.0f} to {speeds[-1]:.0f} kt as read"
        size = f"corrections to add lie from {signed(values[0])} to {signed(values[-1])} kt"
    wind = f"; wind {sortie.mean_wind}" if sortie.mean_wind else ""
    return f"{counted(len(speeds), 'point')} {at}: {size}{wind}."


def _counts(term: TermLine) -> bool:
    """Tell whether a term would show in the table other than as zero."""
    return any(share is not None and share >= _LEAST_SHOWN_KT for share in term.shares_kt)


def _term_name(term: TermLine) -> str:
    return term.name if term.owner == "point" else f"{term.name}, of the {term.owner}"


def why_out(points: Sequence[SitePoint]) -> list[str]:
    """Return why points are in no pool: each reason once, with how many points it is for."""
    reasons = Counter(point.out for point in points if point.out)
    return [f"{counted(count, 'point')} out: {why}." for why, count in reasons.items()]
