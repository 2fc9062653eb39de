"""The page of one sortie: legs, ground vectors, points and where their uncertainty comes from."""

from __future__ import annotations

from fleetcal.publish.markup import escaped
from fleetcal.publish.site.airframe_page import POINTS, point_cells, why_out
from fleetcal.publish.site.content import LegLine, SortiePage, TermLine
from fleetcal.publish.site.elements import (
    Cell,
    Heading,
    data_table,
    number,
    paragraph,
    section,
    text,
)
from fleetcal.publish.site.frame import Page
from fleetcal.publish.site.vector_figure import vector_figure

_LEGS = (
    Heading("Run", plain=True),
    Heading("Leg"),
    Heading("IAS as read", "kt"),
    Heading("Altitude", "ft", needed=False),
    Heading("Air", "°C", needed=False),
    Heading("East", "kt"),
    Heading("North", "kt"),
    Heading("Track", "°", needed=False),
    Heading("Residual", "kt", needed=False),
)


def sortie_page(sortie: SortiePage) -> Page:
    """Return the page of a sortie."""
    return Page(
        path=sortie.path,
        title=f"{sortie.airframe}, {sortie.flown}, sortie {sortie.number}",
        subject="One sortie",
        lead=paragraph(
            f"{sortie.technique}, flaps {sortie.flap_setting}, {sortie.weight_kg:.0f} kg, tracks "
            f"from {sortie.track_reference} north."
            if sortie.legs
            else f"{sortie.technique}, flaps {sortie.flap_setting}, {sortie.weight_kg:.0f} kg."
        )
        + paragraph(f"Out of every pool: {sortie.barred}." if sortie.barred else "")
        + "".join(paragraph(f"{words[:1].upper()}{words[1:]}.") for words in sortie.wind),
        trail=(("The fleet", "../index.html"), (sortie.airframe, f"../{sortie.airframe_page}")),
        parts=(
            section(
                "points",
                "Points",
                why_out(sortie.points),
                data_table(
                    "points-table",
                    "What this sortie gave, with standard uncertainties u.",
                    POINTS,
                    [point_cells(point, up="") for point in sortie.points],
                ),
            ),
            section("budget", "Where the uncertainty comes from", _budget(sortie)),
            section("vectors", "Ground vectors", _vectors(sortie)),
            section(
                "legs",
                "Legs",
                data_table(
                    "legs-table",
                    "Means over each steady leg; ground speed towards east and north.",
                    _LEGS,
                    [_leg(leg) for leg in sortie.legs],
                    sortable=True,
                ),
            ),
        ),
    )


def _vectors(sortie: SortiePage) -> str:
    if not sortie.runs:
        return ""
    figures = "\n".join(vector_figure(run) for run in sortie.runs)
    help_words = (
        "Each thin line is the ground vector of one leg, numbered at its tip. With the same true "
        "airspeed on every leg the tips lie on a circle about the tip of the wind."
    )
    return f'{paragraph(help_words)}\n<div class="runs">\n{figures}\n</div>'


def _leg(leg: LegLine) -> tuple[Cell, ...]:
    return (
        text(str(leg.run)),
        number(leg.leg, 0),
        number(leg.ias_kt),
        number(leg.pressure_altitude_ft, 0),
        number(leg.oat_degc),
        number(leg.ground_east_kt, sign=True),
        number(leg.ground_north_kt, sign=True),
        number(leg.track_deg, 0),
        number(leg.residual_kt, 2, sign=True),
    )


def _budget(sortie: SortiePage) -> str:
    if not sortie.terms:
        return ""
    headings = (
        Heading("Term", plain=True),
        *(Heading(f"{point.ias_kt:.0f} kt as read") for point in sortie.points),
    )
    return data_table(
        "budget-table",
        "Share of each term in u of the correction, kt, at each point. What a term is of, sortie, "
        "airframe or fleet, has the same unknown error at all its points.",
        headings,
        [_term(term) for term in sortie.terms],
    )


def _term(term: TermLine) -> tuple[Cell, ...]:
    name = term.name if term.owner == "point" else f"{term.name}, of the {term.owner}"
    return (Cell(escaped(name)), *(number(share, 2) for share in term.shares_kt))
