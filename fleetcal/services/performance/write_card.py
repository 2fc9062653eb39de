"""Turn a plan into a test card, and write it as a file."""

from __future__ import annotations

from pathlib import Path

from fleetcal.atomic_write import write_atomically
from fleetcal.errors import ImplausibleError
from fleetcal.publish.flight_card import CardLeg, CardRun, FlightCard
from fleetcal.publish.flight_card_html import flight_card_html
from fleetcal.publish.flight_card_pdf import flight_card_pdf
from fleetcal.publish.flight_card_text import flight_card_text
from fleetcal.services.performance.plan_flight import FlightPlan
from fleetcal.services.performance.planned_legs import minutes_needed
from fleetcal.store.undescribed import is_undescribed

_NORTH_DEG = 360


def write_card(plan: FlightPlan, path: Path, paper: str = "a4") -> None:
    """Write the test card of the first sortie of a plan; the others are planned again after it.

    Args:
        path: Ending in .pdf, .html or .txt.
        paper: ``a4`` or ``letter``.

    Raises:
        ImplausibleError: If the plan has more runs than a card holds, or the ending is unknown.
        DataError: If the file cannot be written.
    """
    card = flight_card(plan)
    ending = path.suffix.casefold()
    if ending == ".pdf":
        write_atomically(path, flight_card_pdf(card, paper))
    elif ending in (".html", ".htm"):
        write_atomically(path, flight_card_html(card, paper))
    elif ending == ".txt":
        write_atomically(path, flight_card_text(card))
    else:
        raise ImplausibleError(
            f"a test card cannot be written as {path.name!r}", "end the name in .pdf, .html or .txt"
        )


def flight_card(plan: FlightPlan) -> FlightCard:
    """Return the card of the first sortie of a plan.

    Raises:
        ImplausibleError: If the plan has more runs than a card holds.
    """
    runs = tuple(
        CardRun(
            round(run.ias_kt),
            run.helps,
            run.smooth_air_only,
            tuple(
                CardLeg(
                    _degrees(leg.heading_deg), _degrees(leg.track_deg), round(leg.ground_speed_kt)
                )
                for leg in run.legs[:: -1 if again % 2 else 1]
            ),
        )
        for run in plan.runs
        if run.sortie == 1
        for again in range(run.repeats)
    )
    wind = ""
    if plan.wind_from_deg is not None:
        strength = "" if plan.wind_kt is None else f" / {plan.wind_kt:.0f} kt"
        wind = f"from {_degrees(plan.wind_from_deg):03d}{strength}"
    return FlightCard(
        airframe=plan.airframe,
        type_name="type not described yet" if is_undescribed(plan.type) else plan.type,
        group=plan.group,
        flap_setting=plan.flap_setting,
        altitude_ft=round(plan.altitude_ft),
        weight_kg=round(plan.weight_kg),
        slowest_kt=plan.slowest_kt,
        fastest_kt=plan.fastest_kt,
        manoeuvring_kt=plan.manoeuvring_kt,
        wind=wind,
        minutes=round(minutes_needed(len(runs))),
        runs=runs,
        purpose=_purpose(plan),
        notes=plan.notes[:1],  # of the indicator's own check; the others are for the desk
        limits=tuple((limit.name, limit.usable_kt) for limit in plan.limits),
    )


def _purpose(plan: FlightPlan) -> str:
    now = "unknown" if plan.largest_before_kt is None else f"±{plan.largest_before_kt:.1f} kt"
    these = "these runs" if plan.sorties == 1 else f"{plan.sorties} sorties, of which this is one"
    return (
        f"Purpose: the largest band of this airframe's {plan.band_of}, {now} now, should be "
        f"±{plan.largest_after_kt:.1f} kt after {these}. Cut short, keep the runs that help "
        "most (no. 1 first). Tolerances and times are common practice; the crew decides what is "
        "safe."
    )


def _degrees(value: float) -> int:
    """Return whole degrees, north as 360."""
    return round(value) % _NORTH_DEG or _NORTH_DEG
