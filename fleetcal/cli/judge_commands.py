"""Commands on groups and on where airframes stand in them."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Unpack

import click

from fleetcal.cli.options import (
    figure_option,
    group_argument,
    open_chosen_store,
    own_tag_argument,
)
from fleetcal.cli.output import emit
from fleetcal.cli.quantity_option import (
    PooledOptions,
    kind_of,
    pool_request,
    pooled_options,
    usual_spread_option,
)
from fleetcal.cli.verbs import Verb

if TYPE_CHECKING:
    from fleetcal.cli.output import View
    from fleetcal.services.curves.judgement import Judgement

#: Exit code when a flag was raised and the caller asked to fail on it.
FLAG_RAISED = 6
_fail_option = click.option(
    "--fail-if-outside", is_flag=True, help="Exit with code 6 if an airframe is outside."
)


@click.command(cls=Verb, shared=("format",))
def groups() -> None:
    """List the groups: static source and pairing, with what each has.

    \b
    Example:
      fleetcal groups
    """
    from fleetcal.cli.views import GROUPS
    from fleetcal.services.curves.list_groups import list_groups

    with open_chosen_store() as store:
        emit(list_groups(store), GROUPS)


@click.command(cls=Verb, shared=("format", "details"))
@own_tag_argument("tag")
@pooled_options
@usual_spread_option
@click.option(
    "--second-opinion",
    is_flag=True,
    help="Say too what the mixed model of an independent program finds, and why it may differ.",
)
@_fail_option
@figure_option
def standing(
    tag: str,
    usual_spread_kt: float | None,
    second_opinion: bool,
    fail_if_outside: bool,
    figure: Path | None,
    **pooled: Unpack[PooledOptions],
) -> None:
    """Tell where the airframe TAG stands against the others of its group.

    \b
    Example:
      fleetcal standing C-07
      fleetcal standing C-07 --out C-07.svg
      fleetcal standing C-07 --second-opinion
      fleetcal standing C-07 --quantity climb --power-state "full power"
    """
    from fleetcal.cli.views import STANDING
    from fleetcal.services.curves.judge_airframes import judge_airframe

    request = pool_request(pooled, usual_spread_kt=usual_spread_kt)
    with open_chosen_store() as store:
        judged = judge_airframe(store, tag, request, figure, second_opinion=second_opinion)
    _emit_judgement(judged, STANDING, pooled["quantity"], fail_if_outside)


@click.command(cls=Verb, shared=("format", "details"))
@group_argument("group", metavar="[GROUP]", required=False)
@pooled_options
@usual_spread_option
@_fail_option
def outliers(
    group: str | None,
    usual_spread_kt: float | None,
    fail_if_outside: bool,
    **pooled: Unpack[PooledOptions],
) -> None:
    """Judge every airframe of a type, and name those outside their group.

    \b
    Example:
      fleetcal outliers
      fleetcal outliers "wing boom" --fail-if-outside
      fleetcal outliers --quantity glide
    """
    from fleetcal.cli.views import OUTLIERS
    from fleetcal.services.curves.judge_airframes import judge_airframes

    request = pool_request(pooled, usual_spread_kt=usual_spread_kt)
    with open_chosen_store() as store:
        judged = judge_airframes(store, request, group)
    _emit_judgement(judged, OUTLIERS, pooled["quantity"], fail_if_outside)


def _emit_judgement(judged: Judgement, view: View[Judgement], quantity: str, fail: bool) -> None:
    emit(judged, replace(view, kind=kind_of(view.kind, quantity)))
    if fail and judged.any_outside:
        click.get_current_context().exit(FLAG_RAISED)
