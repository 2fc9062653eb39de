"""Options that say which measured quantity is meant, and of which airframes."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Final, TypedDict, TypeVar

import click

from fleetcal.cli.options import flap_option, refuse_others, together, type_option

if TYPE_CHECKING:
    from fleetcal.services.curves.member_choice import MemberChoice
    from fleetcal.services.curves.quantity import PoolRequest

Command = TypeVar("Command", bound=Callable[..., object])
POSITION_ERROR: Final = "position-error"
CRUISE: Final = "cruise"
#: Those that are rates, with a power state.
RATES: Final = ("climb", "glide")
#: What is found in a recorded flight, and what is pooled; the usual one first.
REDUCED: Final = (POSITION_ERROR, *RATES)
POOLED: Final = (*REDUCED, CRUISE)


def quantity_option(quantities: Sequence[str]) -> Callable[[Command], Command]:
    """Return the option for a choice of quantities, the first of which is the usual one."""
    return click.option(
        "--quantity",
        type=click.Choice(quantities),
        default=quantities[0],
        show_default=True,
        help="Which measured quantity.",
    )


#: What is pooled; `pool_request` puts it together.
pooled_options = together(
    quantity_option(POOLED),
    click.option(
        "--power-state",
        metavar="TEXT",
        help="Of climbs and glides; may be left out if there is one.",
    ),
    type_option,
    flap_option,
)
#: How much airframes are supposed to differ when one is judged.
usual_spread_option = click.option(
    "--usual-spread-kt",
    type=click.FloatRange(0.1, 10.0),
    metavar="KT",
    help="How much sound airframes of the type differ at 100 kt, one standard deviation, if you "
    "know better than the default.",
)
#: For `refuse_others`: quantities that the options are for.
POOLED_FITS: Final = {"power_state": RATES, "usual_spread_kt": (POSITION_ERROR,)}


class PooledOptions(TypedDict):
    """What `pooled_options` adds."""

    quantity: str
    power_state: str | None
    type_name: str | None
    flap_setting: str


def pool_request(
    options: PooledOptions,
    choice: MemberChoice | None = None,
    usual_spread_kt: float | None = None,
) -> PoolRequest:
    """Return which points of which quantity the options ask for.

    Raises:
        click.UsageError: If an option was given that is for other quantities.
    """
    refuse_others(options["quantity"], POOLED_FITS)
    from fleetcal.services.curves.member_choice import MemberChoice
    from fleetcal.services.curves.quantity import PoolRequest
    from fleetcal.services.performance.quantities import quantity_named

    return PoolRequest(
        quantity=quantity_named(options["quantity"]),
        type=options["type_name"],
        flap_setting=options["flap_setting"],
        power_state=options["power_state"],
        usual_spread_kt=usual_spread_kt,
        choice=choice or MemberChoice(),
    )


def kind_of(result: str, quantity: str) -> str:
    """Return the name of a kind of result in JSON, such as ``standing`` or ``climb_standing``."""
    word = "" if quantity == POSITION_ERROR else "climb_" if quantity in RATES else f"{quantity}_"
    return f"{word}{result}"
