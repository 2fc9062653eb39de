"""The page of a sortie: its points and their budget, its ground vectors and its legs."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from fleetcal.publish.page_columns import number, text
from fleetcal.publish.site.content_sortie import SitePoint, SortiePage, TermLine
from fleetcal.publish.site.frame import PageFrame
from fleetcal.publish.site.vector_figure import vector_figure
from fleetcal.publish.templating import render
from fleetcal.wording import counted


def sortie_page(sortie: SortiePage, frame: PageFrame) -> str:
    """Return the page of a sortie: its points and their budget, ground vectors, legs."""
    return render(
        "sortie.html",
        frame=frame,
        title=f"{sortie.airframe}, {sortie.flown}, sortie {sortie.number}",
        sortie=sortie,
        why_out=why_out(sortie.points),
        budget_columns=[
            text(0, "Term"),
            *(
                number(place, f"{point.vic_kt:.0f} kt as read", places=2)
                for place, point in enumerate(sortie.points, 1)
            ),
        ],
        budget=[(_term_name(term), *term.shares_kt) for term in sortie.terms],
        runs=[vector_figure(run) for run in sortie.runs],
    )


def _term_name(term: TermLine) -> str:
    return term.name if term.owner == "point" else f"{term.name}, of the {term.owner}"


def why_out(points: Sequence[SitePoint]) -> list[str]:
    """Return why points are in no pool: each reason once, with how many points it is for."""
    reasons = Counter(point.out for point in points if point.out)
    return [f"{counted(count, 'point')} out: {why}." for why, count in reasons.items()]
