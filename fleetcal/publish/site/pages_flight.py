"""The page on which one flight is looked at: its answer, its strips, its legs."""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import Any, Final

from fleetcal.publish.flight_picture import PicturedRun
from fleetcal.publish.site.content_sortie import RunPicture
from fleetcal.publish.site.frame import PageFrame
from fleetcal.publish.site.strips import Strips
from fleetcal.publish.site.vector_figure import vector_figure, vector_figures
from fleetcal.publish.templating import render

#: Ground vectors drawn of a manoeuvre.
_CLOUD: Final = 80


@dataclass(frozen=True, kw_only=True)
class LegShown:
    """What is answered of one leg, as it is printed.

    Attributes:
        outcome: ``solved``, ``refused`` or ``left out``.
    """

    run: int
    leg: int
    start_s: float
    ias: str
    track: str
    residual: str
    outcome: str


@dataclass(frozen=True, kw_only=True)
class AnswerShown:
    """What a flight says with its legs as they are picked; or why it says nothing.

    Attributes:
        sentences: The answer, or what is wrong and what to do.
        refused: Whether it is the latter.
        headings: Of the table: name and unit of each column.
        rows: Each as long as the headings.
        help: How the table is to be read.
        doubts: What is in doubt.
        behind: What was supposed.
        runs: Solved, with their ground vectors.
    """

    sentences: tuple[str, ...]
    refused: bool = False
    headings: tuple[tuple[str, str], ...] = ()
    rows: tuple[tuple[str, ...], ...] = ()
    help: str = ""
    doubts: tuple[str, ...] = ()
    behind: tuple[str, ...] = ()
    runs: tuple[PicturedRun, ...] = ()
    legs: tuple[LegShown, ...] = ()


@dataclass(frozen=True, kw_only=True)
class PickedShown:
    """One leg as it is picked; times from the first sample."""

    run: int
    start: float
    stop: float
    out: bool = False


@dataclass(frozen=True, kw_only=True)
class FlightLooked:
    """A flight that is looked at.

    Attributes:
        title, facts: Which flight it is, and how it was read.
        answer: With the legs as they are picked.
        strips: None for legs written by hand.
        picking: Whether legs can be picked.
        found: Legs that the program found.
        picked: Legs as they are now.
        parts: Number and place of what is solved in place of legs, as percentages of the width.
        stored: Words, page and number of each sortie that this content is stored as.
    """

    title: str
    facts: tuple[str, ...]
    answer: AnswerShown
    strips: Strips | None
    picking: bool
    found: tuple[PickedShown, ...] = ()
    picked: tuple[PickedShown, ...] = ()
    parts: tuple[tuple[int, float, float], ...] = ()
    stored: tuple[tuple[str, str, int], ...] = ()


def flight_page(flight: FlightLooked, frame: PageFrame, **form: Any) -> str:
    """Return the page of a flight.

    Args:
        form: `fields` of the form by where they stand, what is `typed` in them, and what is
            `wrong` with them.
    """
    legs = {
        "found": [asdict(leg) for leg in flight.found],
        "picked": [asdict(leg) for leg in flight.picked],
        "picking": flight.picking,
        "last": flight.strips.last_s if flight.strips else 0.0,
        "answered": [asdict(leg) for leg in flight.answer.legs],
    }
    return render(
        "desk_flight.html",
        frame=frame,
        title=flight.title,
        flight=flight,
        legs=json.dumps(legs),
        **form,
        **_shown(flight.answer),
    )


def answer_parts(answer: AnswerShown) -> dict[str, Any]:
    """Return the parts of a page that follow its legs, ready for JSON."""
    values = _shown(answer)
    return {
        "sentences": render("desk_sentences.html", **values),
        "numbers": render("desk_numbers.html", **values),
        "legs": [asdict(leg) for leg in answer.legs],
        "refused": answer.refused,
    }


def strips_drawing(strips: Strips, parts: Sequence[tuple[int, float, float]] = ()) -> str:
    """Return the drawing of strips alone.

    Args:
        parts: Number and place of what is solved in place of legs, as percentages of the width.
    """
    return render("strips.html", strips=strips, parts=parts)


def _shown(answer: AnswerShown) -> dict[str, Any]:
    if any(run.samples_kt.size for run in answer.runs):
        drawn = [vector_figure(_pictured(run), _cloud(run)) for run in answer.runs]
    else:
        drawn = vector_figures([_pictured(run) for run in answer.runs])
    return {"answer": answer, "runs": drawn}


def _pictured(run: PicturedRun) -> RunPicture:
    blown = math.radians(run.wind_from_deg)
    return RunPicture(
        run=run.number,
        legs=tuple(leg.leg for leg in run.legs),
        ias_kt=run.vic_kt,
        tas_kt=run.tas_kt,
        wind_east_kt=-run.wind_speed_kt * math.sin(blown),
        wind_north_kt=-run.wind_speed_kt * math.cos(blown),
        tips=tuple((leg.east_kt, leg.north_kt) for leg in run.legs),
        residuals_kt=tuple(leg.residual_kt for leg in run.legs),
    )


def _cloud(run: PicturedRun) -> list[tuple[float, float]]:
    """Return some ground vectors of a run without legs, spread over it."""
    some = run.samples_kt[:, :: max(1, run.samples_kt.shape[1] // _CLOUD)]
    return [(float(east), float(north)) for east, north in some.T]
