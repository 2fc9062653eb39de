"""The answer of a plan, in sentences."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from fleetcal.services.performance.plan_values import FlightPlan
from fleetcal.wording import counted

_NUMBERS: Final = ("no", "one", "two", "three")


def plan_answer(plan: FlightPlan) -> Iterator[str]:
    """Say what to fly and what that should leave, after the answer to a question."""
    if plan.outlook is not None:
        yield f"{plan.outlook.answer}."
    now = ""
    if plan.largest_before_kt is not None:
        known = "it is" if plan.flown else "before its first flight it is"
        now = f"; {known} ±{plan.largest_before_kt:.1f} kt{' now' if plan.flown else ''}"
    yield (
        f"Fly {_what_to_fly(plan)}: {plan.airframe}'s {plan.band_of} should then be known to "
        f"±{plan.largest_after_kt:.1f} kt or better at all speeds from {plan.slowest_kt} to "
        f"{plan.fastest_kt} kt{now}."
    )


def _what_to_fly(plan: FlightPlan) -> str:
    runs = sum(run.repeats for run in plan.runs)
    many = counted(runs, "run")
    if plan.sorties == 1:
        return f"{many} in one sortie, about {plan.minutes:.0f} minutes"
    return f"{many} in {_NUMBERS[plan.sorties]} sorties, about {plan.minutes:.0f} minutes together"
