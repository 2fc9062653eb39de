"""The verb that plans the next flight."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fleetcal.verbs.answer import Answer, cautioned, doubts_and_notes
from fleetcal.verbs.checked import count_within, number_within, one_of, within
from fleetcal.verbs.stores import StorePlace, opened

if TYPE_CHECKING:
    from fleetcal.services.performance.plan_values import FlightPlan


def plan(
    airframe: str,
    *,
    store: StorePlace = None,
    points: int = 4,
    sorties: int | None = None,
    weight_kg: float | None = None,
    altitude_ft: float = 4000.0,
    wind_from_deg: float | None = None,
    wind_kt: float | None = None,
    rough_air: bool = False,
    fastest_kt: float | None = None,
    flap_setting: str | None = None,
    question: str | None = None,
) -> Answer[FlightPlan]:
    """Plan the next flight of an airframe: its sorties, speeds and headings.

    Args:
        airframe: Its tag.
        store: File, address, or what `fleetcal.open` returned; the usual place if left out.
        points: Runs to fly, 1 to 20.
        sorties: Over which they are split, 1 to 3; chosen by what that gains if left out.
        weight_kg: Expected; the reference weight if left out.
        altitude_ft: Pressure altitude.
        wind_from_deg, wind_kt: Expected, for headings and ground speeds.
        rough_air: Propose nothing above the manoeuvring speed.
        fastest_kt: Propose nothing faster.
        flap_setting: Up if left out.
        question: ``standing`` or ``change``: how many such sorties settle it.

    Returns:
        `frame` has a row a speed in the order of flying: ``ias_kt`` to hold, ``repeats``, and half
        the width of the band of the correction there, ``before_kt`` now and ``after_kt`` then.

    Raises:
        UnknownNameError: If the airframe is not in the store.
        FitError: If too little is known for a plan, or for the question.
        DataError: If an argument cannot be meant, or no speed may be proposed.
        StoreError: If the store is not there or cannot be read.

    Example:
        >>> fleetcal.plan("C-07", points=6, store="corrie.store").frame()[["ias_kt", "repeats"]]
    """
    from fleetcal.services.performance.plan_flight import PlanRequest, plan_flight
    from fleetcal.services.performance.plan_words import plan_answer

    one_of("question", question, ("standing", "change"))
    request = PlanRequest(
        airframe=airframe,
        points=count_within("points", points, 1, 20) or 4,
        sorties=count_within("sorties", sorties, 1, 3),
        weight_kg=within("weight_kg", weight_kg, 1.0, 100000.0),
        altitude_ft=number_within("altitude_ft", altitude_ft, 0.0, 20000.0),
        wind_from_deg=within("wind_from_deg", wind_from_deg, 0.0, 360.0),
        wind_kt=within("wind_kt", wind_kt, 0.0, 200.0),
        rough_air=rough_air,
        fastest_kt=within("fastest_kt", fastest_kt, 20.0, 400.0),
        flap_setting=flap_setting,
        question=question,
    )
    with opened(store, "plan") as one:
        found = plan_flight(one, request)
    limits = (f"Limit, {limit.name}: {limit.usable_kt} kt" for limit in found.limits)
    return Answer(
        result=found,
        sentences=tuple(plan_answer(found)),
        rows_in="runs",
        warnings=doubts_and_notes(tuple(limits), found.notes),
        caution=cautioned(),
    )
