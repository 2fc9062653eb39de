"""Publish the table of a group, or of one airframe."""

from __future__ import annotations

import time
from collections.abc import Callable
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Final, Unpack

import click
from click.core import ParameterSource

from fleetcal.cli.option_types import Day
from fleetcal.cli.options import (
    FOLDER,
    GroupOptions,
    altitude_option,
    curve_request,
    flap_option,
    group_argument,
    open_chosen_store,
    order_option,
    paper_option,
    pool_options,
    reason_option,
    step_option,
    table_weight_option,
    together,
    type_option,
)
from fleetcal.cli.output import say
from fleetcal.cli.printer import echo
from fleetcal.cli.progress import clear_progress, on_terminal, show_progress
from fleetcal.cli.shared_options import named
from fleetcal.cli.shown_units import shown_unit
from fleetcal.cli.verbs import Verb
from fleetcal.wording import counted

if TYPE_CHECKING:
    from fleetcal.services.curves.pooled_curve import CurveRequest
    from fleetcal.services.publishing.publish_curve import Layout

#: As the formats are named in the room that makes them; the tests hold the two together.
FORMATS: Final = ("html", "csv", "json", "markdown", "svg", "pdf", "card")
#: Options that the site goes by; any other would be without effect, and is refused.
_FOR_SITE: Final = (
    *("site", "folder", "with_days", "with_registrations", "made_on"),
    *("weight_kg", "altitude_ft", "step"),
)
#: Seconds between two lines of progress where there is no terminal.
_EVERY_S: Final = 5.0
KT_PER_UNIT: Final = {"kt": 1.0, "mph": 1609.344 / 1852.0, "km/h": 1000.0 / 1852.0}


class Formats(click.ParamType[tuple[str, ...]]):
    """Names of formats with commas between them."""

    name = "NAMES"

    def convert(
        self, value: object, param: click.Parameter | None, ctx: click.Context | None
    ) -> tuple[str, ...]:
        """Return the names, or fail with the usage."""
        if isinstance(value, tuple):
            return value
        names = tuple(name.strip().casefold() for name in str(value).split(","))
        for name in names:
            if name not in FORMATS:
                self.fail(f"{name!r} is not a format; known: {', '.join(FORMATS)}", param, ctx)
        return names


class TableOptions(GroupOptions):
    """What `_table_options` adds."""

    direction: str
    altitude_ft: float
    step: float
    formats: tuple[str, ...]
    paper: str


_table_options = together(
    type_option,
    flap_option,
    pool_options,
    click.option(
        "--direction",
        type=click.Choice(["ias-to-cas", "cas-to-ias"]),
        default="ias-to-cas",
        show_default=True,
        help="Which speed is looked up, and which is found.",
    ),
    table_weight_option,
    altitude_option,
    step_option(default=5.0, show_default=True, help="Rows apart, in the unit of speed."),
    order_option,
    click.option(
        "--formats",
        type=Formats(),
        default=",".join(FORMATS),
        show_default=True,
        help="Which files, with commas between.",
    ),
    paper_option,
)


def _request_of(group: str, options: TableOptions) -> tuple[CurveRequest, Layout]:
    """Return what is asked of a table as services take it."""
    from fleetcal.services.publishing.publish_curve import Layout

    unit = shown_unit("kt")
    layout = Layout(options["direction"], unit, options["formats"], options["paper"])
    step_kt = options["step"] * KT_PER_UNIT[unit]
    request = curve_request(group, options, step_kt=step_kt, altitude_ft=options["altitude_ft"])
    return request, layout


@click.command(cls=Verb, shared=("speed_unit",))
@group_argument("group", metavar="[GROUP]", required=False)
@click.option(
    "--out", "folder", type=FOLDER, required=True, help="Folder to write to; made when missing."
)
@click.option("--issue", is_flag=True, help="Publish it as the group's next issue.")
@reason_option(help="Why it is issued; printed on it.")
@click.option("--site", is_flag=True, help="Write the static site of the whole fleet instead.")
@click.option("--with-days", is_flag=True, help="Show days on the site, not only months.")
@click.option("--with-registrations", is_flag=True, help="Show registrations on the site.")
@click.option("--date", "made_on", type=Day(), help="Date to print; today if left out.")
@_table_options
def publish(
    group: str | None,
    folder: Path,
    issue: bool,
    reason: str | None,
    site: bool,
    with_days: bool,
    with_registrations: bool,
    made_on: date | None,
    **options: Unpack[TableOptions],
) -> None:
    """Publish the table of a GROUP, or of one airframe by its TAG, in every format.

    The files of an airframe are of that aircraft: its answer first, one band, and
    lines that it has not flown marked as from its group.

    With --issue it gets the group's next number, and what went into it stays in
    the store: its points, their hash, every choice and the program's version. So
    it can be made again later, byte for byte, whatever has been reduced or
    rejected since.

    With --site, publish the whole fleet as a static site that opens from its
    folder: an overview, one page a group, an airframe and a sortie. Its pages
    carry tags and months only, unless asked for more. Its tables are in knots, from
    IAS to CAS, at each type's reference weight unless --weight-kg gives another.

    html is one page that needs no network, card a half sheet to keep in the
    aircraft; csv, json and markdown hold the table, svg the figure, pdf both.

    \b
    Example:
      fleetcal publish "wing boom" --out pages
      fleetcal publish C-07 --out mine
      fleetcal publish "wing boom" --out pages --formats card --speed-unit mph
      fleetcal publish "wing boom" --out pages --direction cas-to-ias
      fleetcal publish "wing boom" --out pages --issue --reason "first pooled table"
      fleetcal publish --site --out site
      fleetcal publish --site --out site --weight-kg 520
    """
    day = made_on or today()
    if site:
        if group is not None:
            raise click.UsageError("Give a GROUP or --site, not both.")
        _refuse_for_site(click.get_current_context())
        _publish_site(folder, day, with_days, with_registrations, options)
        return
    if group is None:
        raise click.UsageError("Give a GROUP, or --site.")
    if with_days or with_registrations:
        raise click.UsageError("--with-days and --with-registrations are for --site.")
    if issue != (reason is not None):
        raise click.UsageError("--issue and --reason go together.")
    request, layout = _request_of(group, options)
    if reason is not None:
        _publish_issue(request, layout, folder, day, reason)
        return
    from fleetcal.services.publishing.publish_curve import publish_curve

    with open_chosen_store() as store:
        done = publish_curve(store, request, folder, day, layout)
    say(f"The table of {group} is published: {counted(len(done.files), 'file')}.", err=True)
    for file in done.files:
        echo(file.path)


def _publish_issue(
    request: CurveRequest, layout: Layout, folder: Path, day: date, reason: str
) -> None:
    from fleetcal.services.publishing.issues import make_issue

    with open_chosen_store() as store:
        done = make_issue(store, request, folder, issued_on=day, why=reason, layout=layout)
    say(
        f"Issue {done.number} of {done.group}, flaps {done.flap_setting}, is published: "
        f"{counted(len(done.files), 'file')}.",
        err=True,
    )
    for file in done.files:
        echo(file.path)


def today() -> date:
    """Return the day by which what is published is dated."""
    return datetime.now(UTC).date()


def _refuse_for_site(context: click.Context) -> None:
    """Refuse what was given and the site does not go by."""
    given = [
        parameter.opts[0]
        for parameter in context.command.params
        if parameter.name is not None
        and parameter.name not in _FOR_SITE
        and context.get_parameter_source(parameter.name) is ParameterSource.COMMANDLINE
    ]
    given += ["--speed-unit"] if named("speed_unit") else []
    if given:
        raise click.UsageError(
            f"These are for the table of a GROUP: {', '.join(given)}. The site has all groups, "
            "flap settings and types, in knots, from IAS to CAS; --weight-kg, --altitude-ft and "
            "--step choose its tables."
        )


def _publish_site(
    folder: Path, day: date, days: bool, registrations: bool, options: TableOptions
) -> None:
    from fleetcal.services.publishing.publish_site import publish_site
    from fleetcal.services.publishing.site_groups import SiteTables

    tables = SiteTables(options["weight_kg"], options["altitude_ft"], options["step"])
    with open_chosen_store() as store:
        done = publish_site(
            store,
            folder,
            day,
            with_days=days,
            with_registrations=registrations,
            tables=tables,
            progress=_progress(),
        )
    clear_progress()
    removed = f"; {done.removed} old pages removed" if done.removed else ""
    say(
        f"The site has {done.pages} pages: statistics {done.fitting_s:.1f} s, "
        f"writing {done.writing_s:.1f} s, "
        f"{1000.0 * done.writing_s / done.pages:.1f} ms a page{removed}.",
        err=True,
    )
    echo(done.first)


def _progress() -> Callable[[str], None]:
    """Return what tells how far it is: in place on a terminal, else a line now and then."""
    last_time = [0.0]

    def tell(words: str) -> None:
        now = time.monotonic()
        if on_terminal():
            show_progress(words)
        elif now - last_time[0] > _EVERY_S:
            last_time[0] = now
            echo(words, err=True)

    return tell
