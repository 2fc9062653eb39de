"""Commands on the fleet's curves: groups, curve, standing, outliers."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Unpack

import click

from fleetcal.cli.options import (
    GroupOptions,
    altitude_option,
    curve_request,
    figure_option,
    flap_option,
    group_argument,
    open_chosen_store,
    order_option,
    pool_options,
    step_option,
    table_weight_option,
    tag_argument,
    together,
    type_option,
)
from fleetcal.cli.verbs import Verb

if TYPE_CHECKING:
    from fleetcal.cli.output import View
    from fleetcal.services.curves.judgement import Judgement

#: Exit code when a flag was raised and the caller asked to fail on it.
FLAG_RAISED = 6

_group_argument = group_argument("group")
fail_option = click.option(
    "--fail-if-outside", is_flag=True, help="Exit with code 6 if an airframe is outside."
)


class CurveOptions(GroupOptions):
    """What `_curve_options` adds."""

    altitude_ft: float
    step_kt: float


_curve_options = together(
    type_option,
    flap_option,
    pool_options,
    table_weight_option,
    altitude_option,
    step_option("step_kt", default=5.0, show_default=True, help="Rows apart, kt."),
    order_option,
)


@click.command(cls=Verb, shared=("format",))
def groups() -> None:
    """List the groups: static source and pairing, with what each has.

    \b
    Example:
      fleetcal groups
    """
    from fleetcal.cli.output import emit
    from fleetcal.cli.views import GROUPS
    from fleetcal.services.curves.list_groups import list_groups

    with open_chosen_store() as store:
        emit(list_groups(store), GROUPS)


@click.command(cls=Verb, shared=("format",))
@_group_argument
@_curve_options
@click.option(
    "--second-opinion",
    "second",
    is_flag=True,
    help="Compare the curve with that of another program, and say why they may differ.",
)
def curve(group: str, second: bool, **options: Unpack[CurveOptions]) -> None:
    """Fit the pooled curve of a GROUP and print it with both bands.

    GROUP is "static source / engine / propeller", or the static source alone to
    pool all pairings flown with it. Airframes found outside the group are left
    out of the curve and named; --with TAG keeps one in.

    \b
    Example:
      fleetcal curve "wing boom"
      fleetcal curve "wing boom" --without C-20
      fleetcal curve "wing boom" --second-opinion
      fleetcal curve "wing boom / 100 kW turbo four / three-blade constant-speed"
    """
    from fleetcal.cli.output import emit
    from fleetcal.cli.views import CURVE
    from fleetcal.services.curves.pooled_curve import pooled_curve

    request = curve_request(
        group, options, step_kt=options["step_kt"], altitude_ft=options["altitude_ft"]
    )
    if second:
        from fleetcal.cli.second_opinion_view import SECOND_OPINION
        from fleetcal.services.curves.second_opinion import compared_curves

        with open_chosen_store() as store:
            emit(compared_curves(store, request), SECOND_OPINION)
        return
    with open_chosen_store() as store:
        emit(pooled_curve(store, request), CURVE)


@click.command(cls=Verb, shared=("format",))
@tag_argument("tag")
@type_option
@flap_option
@fail_option
@figure_option
def standing(
    tag: str,
    type_name: str | None,
    flap_setting: str,
    fail_if_outside: bool,
    figure: Path | None,
) -> None:
    """Tell where the airframe TAG stands against the others of its group.

    \b
    Example:
      fleetcal standing C-07
      fleetcal standing C-07 --out C-07.svg
    """
    from fleetcal.cli.views import STANDING
    from fleetcal.services.curves.judge_airframes import judge_airframe
    from fleetcal.services.curves.position_error import POSITION_ERROR
    from fleetcal.services.curves.quantity import PoolRequest

    request = PoolRequest(quantity=POSITION_ERROR, type=type_name, flap_setting=flap_setting)
    with open_chosen_store() as store:
        judged = judge_airframe(store, tag, request, figure)
    emit_judgement(judged, STANDING, fail_if_outside)


@click.command(cls=Verb, shared=("format",))
@group_argument("group", metavar="[GROUP]", required=False)
@type_option
@flap_option
@fail_option
def outliers(
    group: str | None,
    type_name: str | None,
    flap_setting: str,
    fail_if_outside: bool,
) -> None:
    """Judge every airframe of a type, and name those outside their group.

    \b
    Example:
      fleetcal outliers
      fleetcal outliers "wing boom" --fail-if-outside
    """
    from fleetcal.cli.views import OUTLIERS
    from fleetcal.services.curves.judge_airframes import judge_airframes
    from fleetcal.services.curves.position_error import POSITION_ERROR
    from fleetcal.services.curves.quantity import PoolRequest

    request = PoolRequest(quantity=POSITION_ERROR, type=type_name, flap_setting=flap_setting)
    with open_chosen_store() as store:
        judged = judge_airframes(store, request, group)
    emit_judgement(judged, OUTLIERS, fail_if_outside)


def emit_judgement(judged: Judgement, view: View[Judgement], fail: bool) -> None:
    """Print a judgement, and exit with a code of its own if an airframe is outside."""
    from fleetcal.cli.output import emit

    emit(judged, view)
    if fail and judged.any_outside:
        click.get_current_context().exit(FLAG_RAISED)
