"""The flights of one airframe in order on a page of the site, wide and narrow."""

from __future__ import annotations

from typing import Any, Final

from fleetcal.plain_text import signed
from fleetcal.publish.site.chart import Chart
from fleetcal.publish.templating import render
from fleetcal.publish.watch_picture import (
    ALLOWED_WORDS,
    PERHAPS_WORDS,
    DrawnFlight,
    WatchPicture,
    dated,
)
from fleetcal.wording import counted

_CAPTION: Final = (
    "Flights in order. A point is a flight with its 95 % band, the blue line the airframe's own "
    f"level; shaded: {ALLOWED_WORDS}"
)


def flights_figure(name: str, picture: WatchPicture) -> str:
    """Return the figure.

    Args:
        name: Unique on the page.

    Returns:
        HTML.
    """
    perhaps = f"; bounded by dots: {PERHAPS_WORDS}" if picture.changes else ""
    levels = picture.levels()
    return render(
        "flights.html",
        drawings=[
            {
                "kind": kind,
                "chart": _chart(f"{name}-{kind}", picture, wide=kind == "wide"),
                "numbered": dated(picture.flights, 32 if kind == "wide" else 10),
                "dated": dated(picture.flights, 8 if kind == "wide" else 3),
            }
            for kind in ("wide", "narrow")
        ],
        picture=picture,
        flights=[_flight(one) for one in picture.flights],
        levels=levels,
        steps=[
            {
                "at": one.first_after - 0.5,
                "low": levels[place][2],
                "high": levels[place + 1][2],
                "perhaps": (one.perhaps_after, one.perhaps_before),
                "words": one.words,
            }
            for place, one in enumerate(picture.changes)
        ],
        description=f"{picture.verdict} {counted(len(picture.flights), 'flight')}. The values are "
        "in the table.",
        caption=f"{_CAPTION}{perhaps}.",
    )


def _flight(one: DrawnFlight) -> dict[str, Any]:
    words = f"Flight {one.number}, {one.day}: {signed(one.value_kt)} kt"
    return {
        "number": one.number,
        "value": one.value_kt,
        "low": one.low_kt,
        "high": one.high_kt,
        "allowed": one.allowed,
        "odd": one.odd,
        "words": f"{words}, off by itself" if one.odd else words,
    }


def _chart(name: str, picture: WatchPicture, *, wide: bool) -> Chart:
    return Chart(
        name=name,
        width=720.0 if wide else 340.0,
        height=380.0 if wide else 300.0,
        left=44.0 if wide else 38.0,
        right=14.0 if wide else 8.0,
        top=48.0,
        bottom=62.0,
        across=(0.5, len(picture.flights) + 0.5),
        up=picture.span_kt,
    )
