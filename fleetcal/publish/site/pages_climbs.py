"""The page of a type's climbs, glides and cruise: best speeds first, then curve and table."""

from __future__ import annotations

from collections.abc import Sequence

from fleetcal.publish.site.chart import Chart, Place
from fleetcal.publish.site.content_climbs import ClimbsPage, RatesBlock
from fleetcal.publish.site.figure_key import KeyLine
from fleetcal.publish.site.frame import PageFrame
from fleetcal.publish.templating import render

_LINES = ("rate", "mean_low", "mean_high", "next_low", "next_high")


def climbs_page(page: ClimbsPage, frame: PageFrame) -> str:
    """Return the page."""
    return render(
        "climbs.html",
        frame=frame,
        title=f"Climbs, glides and cruise of {page.type}",
        page=page,
        blocks=[
            {"block": block, "figure": _figure(f"rates-{place}", block)}
            for place, block in enumerate(page.blocks, 1)
        ],
    )


def _figure(name: str, block: RatesBlock) -> str:
    """Return the rate over CAS with both bands, best speeds and measurements; empty if too few."""
    if len(block.curve) < 2:
        return ""
    lines = {
        line: [(row[0] or 0.0, row[place] or 0.0) for row in block.curve]
        for place, line in enumerate(_LINES, 2)
    }
    best = [
        {"words": one.speed, "at": (one.cas_kt, one.rate_ftmin), "ends": (one.low_kt, one.high_kt)}
        for one in block.best
        if None not in (one.cas_kt, one.rate_ftmin, one.low_kt, one.high_kt)
    ]
    places = [place for line in lines.values() for place in line] + [*block.points]
    return render(
        "climbs_figure.html",
        wide=_chart(f"{name}-wide", places, wide=True),
        narrow=_chart(f"{name}-narrow", places, wide=False),
        lines=lines,
        points=block.points,
        best=best,
        title=block.title,
        key=[
            KeyLine("the group's mean", "mean", ".mean-line"),
            KeyLine("95 % band of the group's mean", "mean-band", ".mean-band"),
            KeyLine(
                "95 % band for another aircraft of the group", "next-band", ".next-band,.next-edge"
            ),
            KeyLine("measured, at reference weight; without bars", "others", ".others"),
            KeyLine("best speed with its 95 % interval", "points", ".best"),
        ],
    )


def _chart(name: str, places: Sequence[Place], *, wide: bool) -> Chart:
    speeds, rates = [speed for speed, _ in places], [rate for _, rate in places]
    spare = max(0.06 * (max(rates) - min(rates)), 10.0)
    return Chart(
        name=name,
        width=720.0 if wide else 340.0,
        height=380.0 if wide else 280.0,
        left=58.0 if wide else 50.0,
        right=16.0 if wide else 8.0,
        top=30.0,
        bottom=46.0,
        across=(min(speeds) - 2.0, max(speeds) + 2.0),
        up=(min(rates) - spare, max(rates) + spare),
    )
