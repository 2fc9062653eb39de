"""How a campaign of test flights is printed."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from fleetcal.cli.output import Column, View

if TYPE_CHECKING:
    from fleetcal.services.performance.campaign_values import Campaign


def _answer(campaign: Campaign) -> Iterator[str]:
    from fleetcal.services.performance.campaign_words import campaign_answer

    yield from campaign_answer(campaign)


def _head(campaign: Campaign) -> Iterator[str]:
    from fleetcal.services.performance.campaign_words import campaign_steps

    yield from campaign_steps(campaign)


def _foot(campaign: Campaign) -> Iterator[str]:
    yield (
        f"{campaign.group}, flaps {campaign.flap_setting}, {campaign.weight_kg:.0f} kg. Bands are "
        "those at 95 % that 'curve' prints for this aircraft."
    )
    if campaign.flights:
        yield (
            f"A flight takes about {campaign.minutes:.0f} minutes at the place. Reduce it and "
            "plan again before the next one: the same command says what it changed, and chooses "
            "the speeds of the rest anew. --out card.pdf prints the card of flight 1."
        )
    if campaign.next is not None:
        for limit in campaign.next.limits:
            yield f"Limit, {limit.name}: {limit.usable_kt} kt."
    for note in campaign.notes:
        yield f"Note: {note}."


CAMPAIGN: View[Campaign] = View(
    kind="flight_campaign",
    rows="flights",
    columns=[
        Column("flight"),
        Column("speeds"),
        Column("largest_after_kt", 1, heading="largest band afterwards, ±"),
    ],
    answer=_answer,
    head=_head,
    foot=_foot,
    body=lambda campaign: (),
    cautioned=True,
    tells_of="curve",
)
