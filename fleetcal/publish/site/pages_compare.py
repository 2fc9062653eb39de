"""The page that compares two airframes: both own curves in one figure, and their difference."""

from __future__ import annotations

from collections.abc import Sequence

from fleetcal.plain_text import signed
from fleetcal.publish.site.chart import Chart, Place, curve_chart
from fleetcal.publish.site.content_compare import ComparePage
from fleetcal.publish.site.figure_key import KeyLine
from fleetcal.publish.site.frame import PageFrame
from fleetcal.publish.table_row import TableRow
from fleetcal.publish.templating import render
from fleetcal.wording import decimal


def compare_page(
    tags: Sequence[str], chosen: Sequence[str], frame: PageFrame, found: ComparePage | None = None
) -> str:
    """Return the page of two airframes, or one that asks which.

    Args:
        tags: Of all that can be chosen.
        chosen: First and second, as far as they were chosen.
        found: None if two were not chosen yet, or cannot be compared.
    """
    return render(
        "desk_compare.html",
        frame=frame,
        title="Compare two airframes" if found is None else " and ".join(found.tags),
        tags=tags,
        chosen=chosen,
        found=found,
        answers=[] if found is None else _answers(found),
        figure="" if found is None else _figure(found),
    )


def _answers(found: ComparePage) -> list[str]:
    """Say the difference at a slow, a middle and a fast speed that both flew."""
    rows = found.rows
    if not rows:
        return ["They flew no common speed, so no difference is given."]
    places = sorted({0, (len(rows) - 1) // 2, len(rows) - 1})
    return [_answer(rows[place], found.tags) for place in places]


def _answer(row: Sequence[float], tags: tuple[str, str]) -> str:
    ias, first, second, difference, low, high = row
    at = (
        f"At {ias:.0f} kt indicated {tags[0]} flies {decimal(ias + first)} kt and {tags[1]} "
        f"{decimal(ias + second)} kt calibrated"
    )
    if low <= 0.0 <= high:
        return f"{at}: no difference is shown ({signed(low)} to {signed(high)} kt)."
    way = "faster" if difference > 0.0 else "slower"
    ends = sorted((abs(low), abs(high)))
    return (
        f"{at}: {tags[1]} is {decimal(abs(difference))} kt {way} "
        f"({decimal(ends[0])} to {decimal(ends[1])})."
    )


def _figure(found: ComparePage) -> str:
    """Return both own curves with their bands in one figure."""
    sides = [_side(table.curve) for table in (found.first, found.second)]
    places = [place for side in sides for line in side.values() for place in line]
    first, second = found.tags
    return render(
        "compare_figure.html",
        wide=_chart("compare-wide", places, wide=True),
        narrow=_chart("compare-narrow", places, wide=False),
        first=sides[0],
        second=sides[1],
        tags=found.tags,
        weight=f"{found.first.weight_kg:.0f} kg",
        labels=[
            (sides[0]["mean"][-1][1], first, "of-mean"),
            (sides[1]["mean"][-1][1], second, "of-next"),
        ],
        key=[
            KeyLine(first, "mean", ".mean-line"),
            KeyLine(f"95 % band of {first}", "own-band", ".mean-band,.own-edge"),
            KeyLine(second, "group-mean", ".group-mean"),
            KeyLine(f"95 % band of {second}", "next-band", ".next-band,.next-edge"),
        ],
    )


def _side(curve: Sequence[TableRow]) -> dict[str, list[Place]]:
    known = [row for row in curve if row.correction_kt is not None]
    return {
        "mean": [(row.given_kt, row.correction_kt or 0.0) for row in known],
        "low": [(row.given_kt, row.mean_low_kt or 0.0) for row in known],
        "high": [(row.given_kt, row.mean_high_kt or 0.0) for row in known],
    }


def _chart(name: str, places: Sequence[Place], *, wide: bool) -> Chart:
    speeds = [speed for speed, _ in places]
    values = [-1.0, 1.0, *(value for _, value in places)]
    spare = 0.06 * (max(values) - min(values))
    return curve_chart(
        name,
        wide=wide,
        names_width=120.0,
        across=(min(speeds) - 2.0, max(speeds) + 2.0),
        up=(min(values) - spare, max(values) + spare),
    )
