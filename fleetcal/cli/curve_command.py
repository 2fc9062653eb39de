"""The command that fits and prints a pooled curve."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Unpack

import click

from fleetcal.cli.option_types import Number
from fleetcal.cli.options import (
    GroupOptions,
    airframe_option,
    curve_request,
    figure_option,
    group_argument,
    open_chosen_store,
    order_option,
    pool_options,
    refuse_others,
    step_option,
    table_weight_option,
)
from fleetcal.cli.output import emit
from fleetcal.cli.preferred import preferred_airframe
from fleetcal.cli.quantity_option import (
    CRUISE,
    POOLED_FITS,
    POSITION_ERROR,
    RATES,
    PooledOptions,
    pool_request,
    pooled_options,
)
from fleetcal.cli.verbs import Verb

if TYPE_CHECKING:
    from fleetcal.services.curves.member_choice import MemberChoice

_FITS = {
    **POOLED_FITS,
    **dict.fromkeys(("weight_kg", "order", "second_opinion"), (POSITION_ERROR,)),
    "altitude_ft": (POSITION_ERROR, CRUISE),
    "step": (POSITION_ERROR, *RATES),
    "figure": RATES,
    **dict.fromkeys(("airframe", "power_pct"), (CRUISE,)),
}
_SECTIONS = {
    "Position error": ("weight_kg", "order", "second_opinion"),
    "Climbs and glides": ("power_state", "figure"),
    "Cruise": ("airframe", "power_pct"),
}


class CurveOptions(PooledOptions, GroupOptions):
    """Options of `curve`."""

    step: float
    altitude_ft: tuple[float, ...]
    second_opinion: bool
    figure: Path | None
    airframe: str | None
    power_pct: tuple[float, ...]


@click.command(cls=Verb, shared=("format", "details"), sections=_SECTIONS)
@group_argument("group", metavar="[GROUP]", required=False)
@pooled_options
@pool_options
@step_option(default=5.0, show_default=True, help="Rows apart, kt.")
@click.option(
    "--altitude-ft",
    type=Number(-2000.0, 40000.0),
    multiple=True,
    help="Pressure altitude: of altimeter corrections, 0 if left out; of cruise add this one; "
    "may be repeated.",
)
@table_weight_option
@order_option
@click.option(
    "--second-opinion",
    is_flag=True,
    help="Compare the curve with that of another program, and say why they may differ.",
)
@figure_option
@airframe_option(help="This airframe alone, without the others.")
@click.option(
    "--power-pct",
    type=Number(5.0, 130.0),
    multiple=True,
    help="Add this power, in % of the rated; may be repeated.",
)
def curve(group: str | None, **options: Unpack[CurveOptions]) -> None:
    """Print the correction of one airframe or of a group, with how sure it is.

    Of position error, GROUP is the TAG of an airframe, for its own correction: from
    its own flights, and from its group where it has flown nothing. One flight is
    enough. Or it is "static source / engine / propeller", or the static source alone
    to pool all pairings flown with it. Airframes found outside the group are left
    out of the curve and named; --with TAG keeps one in.

    Of climbs, glides and cruise, GROUP is a TAG too, or the pairing, "engine /
    propeller", and may be left out if there is one pairing. Rates are for reference
    weight and standard air at the altitude where they were flown; the curve of the
    static source turns IAS into CAS. Best speeds are shown with them.

    Cruise is true airspeed in standard air at the powers, altitudes and weight of
    the handbook's cruise tables, each next to the handbook's value (enter them
    as cruise_table in the fleet file), or at those asked for. Level flight at all
    altitudes and weights falls on one line of generalised power; no value is given
    at speeds that nobody flew.

    \b
    Example:
      fleetcal curve C-07
      fleetcal curve "wing boom"
      fleetcal curve "wing boom" --without C-20
      fleetcal curve "wing boom" --second-opinion
      fleetcal curve "wing boom / 100 kW turbo four / three-blade constant-speed"
      fleetcal curve C-07 --quantity glide
      fleetcal curve --quantity glide --out glide.svg
      fleetcal curve "75 kW four / two-blade fixed" --quantity climb --power-state "full power"
      fleetcal curve "75 kW four / two-blade fixed" --quantity cruise --power-pct 65
      fleetcal curve --quantity cruise --airframe C-07
    """
    quantity = options["quantity"]
    refuse_others(quantity, _FITS)
    if quantity == CRUISE:
        _print_cruise(group, options)
    elif quantity in RATES:
        _print_rates(group, options)
    elif group is None and (group := preferred_airframe(None)) is None:
        raise click.UsageError("Missing argument 'GROUP'.")
    elif len(options["altitude_ft"]) > 1:
        raise click.UsageError("'--altitude-ft' may be given once for position-error.")
    else:
        _print_position_error(group, options)


def _choice(options: CurveOptions) -> MemberChoice:
    from fleetcal.services.curves.member_choice import MemberChoice

    return MemberChoice(options["with_airframes"], options["without_airframes"])


def _print_cruise(pairing: str | None, options: CurveOptions) -> None:
    from fleetcal.cli.cruise_views import CRUISE_TABLE
    from fleetcal.services.curves.fit_airframe import tag_named
    from fleetcal.services.performance.cruise_flown import CruiseRequest
    from fleetcal.services.performance.cruise_table import cruise_table

    request = CruiseRequest(
        pairing=pairing,
        airframe=options["airframe"],
        type=options["type_name"],
        flap_setting=options["flap_setting"],
        power_pct=options["power_pct"],
        altitude_ft=options["altitude_ft"],
        choice=_choice(options),
    )
    with open_chosen_store() as store:
        tag = tag_named(store, pairing) if pairing else None
        if tag is not None:
            request = replace(request, pairing=None, airframe=tag)
        emit(cruise_table(store, request), CRUISE_TABLE)


def _print_rates(pairing: str | None, options: CurveOptions) -> None:
    from fleetcal.cli.climb_views import POOLED_CLIMBS
    from fleetcal.services.performance.pool_climbs import pool_climbs

    request = pool_request(options, _choice(options))
    with open_chosen_store() as store:
        found = pool_climbs(store, request, pairing, options["step"], options["figure"])
    emit(found, POOLED_CLIMBS)


def _print_position_error(group: str, options: CurveOptions) -> None:
    from fleetcal.cli.own_curve_view import OWN_CURVE
    from fleetcal.cli.second_opinion_view import SECOND_OPINION
    from fleetcal.cli.views import CURVE
    from fleetcal.services.curves.pooled_curve import pooled_curve
    from fleetcal.services.curves.second_opinion import compared_curves

    altitude_ft = (*options["altitude_ft"], 0.0)[0]
    request = curve_request(group, options, step_kt=options["step"], altitude_ft=altitude_ft)
    with open_chosen_store() as store:
        if options["second_opinion"]:
            emit(compared_curves(store, request), SECOND_OPINION)
        else:
            found = pooled_curve(store, request)
            emit(found, CURVE if found.airframe is None else OWN_CURVE)
