"""What a campaign of test flights says, in sentences."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from fleetcal.services.performance.campaign_values import Campaign, LastFlight
from fleetcal.wording import counted

#: Bands narrower than this, kt, have a second decimal.
_NARROW_KT: Final = 2.0
#: By how much a band may miss what was foreseen before the reader is told why it may have.
_MISSED: Final = 1.25


def _band(half_kt: float) -> str:
    return f"±{half_kt:.{1 if half_kt >= _NARROW_KT else 2}f}"


def campaign_answer(campaign: Campaign) -> Iterator[str]:
    """Yield how many flights are left, and what the last one did."""
    tag, within, now = campaign.airframe, campaign.within_kt, campaign.largest_now_kt
    speeds = f"at all speeds from {campaign.slowest_kt} to {campaign.fastest_kt} kt"
    if campaign.last is not None:
        yield _last(campaign.last)
    if not campaign.flights:
        yield (
            f"Stop: {tag}'s own correction is known to {_band(now)} kt or better {speeds}, and "
            f"±{within:g} kt was the aim."
        )
        return
    many, left = len(campaign.flights), campaign.flights[-1].largest_after_kt
    more = "more " if campaign.last is not None else ""
    if not campaign.reached:
        yield (
            f"{counted(many, f'{more}flight')} would bring {tag}'s own correction to "
            f"{_band(left)} kt {speeds}, and not to ±{within:g} kt. More runs in each (--points) "
            "or a wider aim (--within-kt) would do."
        )
        return
    yield (
        f"Fly {counted(many, f'{more}flight')}: {tag}'s own correction should then be known to "
        f"{_band(left)} kt or better {speeds}."
    )


def _last(last: LastFlight) -> str:
    foreseen = f"foreseen {_band(last.foreseen_kt)} kt"
    if last.flown_foreseen_kt > _MISSED * last.foreseen_kt:
        foreseen += f" at the speeds of the plan, {_band(last.flown_foreseen_kt)} kt at those flown"
    return (
        f"The flight of {last.flown_on} brought the largest band from {_band(last.before_kt)} kt "
        f"to {_band(last.after_kt)} kt, {foreseen}."
    )


def campaign_steps(campaign: Campaign) -> Iterator[str]:
    """Say what is known now, what each flight is, and when to stop."""
    where = f", widest at {campaign.largest_at_kt:.0f} kt" if campaign.flown else ""
    when = "Now" if campaign.flown else "Before the first flight"
    yield f"{when}: {_band(campaign.largest_now_kt)} kt{where}."
    for flight in campaign.flights:
        yield (
            f"Flight {flight.flight}: {flight.speeds}, in this order; then "
            f"{_band(flight.largest_after_kt)} kt."
        )
    yield from _stop(campaign)


def _stop(campaign: Campaign) -> Iterator[str]:
    if campaign.flights and campaign.reached:
        yield (
            f"Stop when this plan says ±{campaign.within_kt:g} kt or better at all speeds; "
            f"foreseen after flight {len(campaign.flights)}."
        )
    if campaign.flights:
        ordinary = campaign.ordinary
        yield (
            f"{counted(ordinary.flights, 'ordinary flight')} instead would leave "
            f"{_band(ordinary.largest_after_kt)} kt."
        )
