"""Commands on bench checks of instruments and leak checks of static systems."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import click

from fleetcal.cli.options import (
    Day,
    Number,
    existing_file,
    open_chosen_store,
)
from fleetcal.cli.verbs import VerbGroup
from fleetcal.wording import counted

_airframe_option = click.option(
    "--airframe", metavar="TAG", required=True, help="Tag of the airframe."
)
_day_option = click.option("--date", "checked_on", type=Day(), required=True, help="Day.")
_note_option = click.option("--note", default="", help="A note to keep with the check.")


@click.group(cls=VerbGroup)
def bench() -> None:
    """Enter what was found on the bench: instrument corrections and leaks.

    The newest check not later than a flight corrects its readings when the flight
    is reduced or measured. A failed leak check bars what the airframe flew since
    its last passed check from every pool, until it passes again; a check counts
    from the start of its day.

    \b
    Example:
      fleetcal bench airspeed indicator.csv --airframe C-07 --date 2024-03-01 --u-kt 0.5
      fleetcal bench leak --airframe C-07 --date 2024-03-01 --loss-ft 20
      fleetcal bench list --airframe C-07
    """


@bench.command()
@existing_file("file")
@_airframe_option
@_day_option
@click.option(
    "--u-kt",
    type=Number(0.01, 50.0),
    required=True,
    help="Standard uncertainty of the corrections.",
)
@_note_option
def airspeed(file: Path, airframe: str, checked_on: date, u_kt: float, note: str) -> None:
    """Enter a check of the airspeed indicator from a CSV FILE.

    The correction is added to the reading: true minus indicated.

    \b
    Example:
      fleetcal bench airspeed indicator.csv --airframe C-07 --date 2024-03-01 --u-kt 0.5
    \b
    Example of a FILE:
      indicated_kt,correction_kt
      60,0.5
      90,0
      120,-1.5
    """
    _enter("airspeed", file, airframe, day=checked_on, u=u_kt, note=note)


@bench.command()
@existing_file("file")
@_airframe_option
@_day_option
@click.option(
    "--u-ft",
    type=Number(0.1, 2000.0),
    required=True,
    help="Standard uncertainty of the corrections.",
)
@_note_option
def altimeter(file: Path, airframe: str, checked_on: date, u_ft: float, note: str) -> None:
    """Enter a check of the altimeter, 1013.25 hPa set, from a CSV FILE.

    The correction is added to the reading: true minus indicated.

    \b
    Example:
      fleetcal bench altimeter altimeter.csv --airframe C-07 --date 2024-03-01 --u-ft 10
    \b
    Example of a FILE:
      indicated_ft,correction_ft
      0,10
      3000,-5
      6000,-20
    """
    _enter("altimeter", file, airframe, day=checked_on, u=u_ft, note=note)


def _enter(kind: str, file: Path, airframe: str, day: date, u: float, note: str) -> None:
    from fleetcal.services.bench.bench_checks import enter_bench_check

    with open_chosen_store() as store:
        done = enter_bench_check(
            store, kind, file, airframe=airframe, checked_on=day, u=u, note=note
        )
    what = f"{done.kind} check {done.number} of {done.airframe} on {done.checked_on}"
    if done.known_already:
        click.echo(f"{what}: the same content is in the store already; nothing was added")
    else:
        click.echo(f"{what}: {counted(done.rows, 'line')} entered")


@bench.command()
@_airframe_option
@_day_option
@click.option(
    "--loss-ft",
    type=Number(0.0, 100000.0),
    required=True,
    help="Indicated altitude lost in one minute.",
)
@click.option("--limit-ft", type=Number(0.1, 100000.0), help="Limit; 100 if left out.")
@click.option("--limit-source", default="", help="Where another limit is from.")
@_note_option
def leak(
    airframe: str,
    checked_on: date,
    loss_ft: float,
    limit_ft: float | None,
    limit_source: str,
    note: str,
) -> None:
    """Enter a leak check of the closed static system.

    The limit is 100 ft in one minute, as 14 CFR 23.1325(b)(2)(i) had it.

    \b
    Example:
      fleetcal bench leak --airframe C-07 --date 2024-03-01 --loss-ft 20
    """
    from fleetcal.services.bench.bench_checks import enter_leak_check

    with open_chosen_store() as store:
        done = enter_leak_check(
            store,
            airframe,
            checked_on,
            loss_ft=loss_ft,
            limit_ft=limit_ft,
            limit_source=limit_source,
            note=note,
        )
    verdict = "passed" if done.passed else "FAILED"
    click.echo(
        f"leak check {done.number} of {done.airframe} on {done.checked_on}: {verdict}, "
        f"{done.loss_ft:g} ft against {done.limit_ft:g} ft ({done.limit_source})"
    )
    if not done.passed:
        click.echo(
            "What it flew since its last passed check is barred from every pool until it passes.",
            err=True,
        )


@bench.command("list", shared=("format",))
@click.option("--airframe", metavar="TAG", help="Only this airframe.")
def list_(airframe: str | None) -> None:
    """List checks, withdrawn ones too.

    \b
    Example:
      fleetcal bench list --airframe C-07
    """
    from fleetcal.cli.bench_views import CHECKS
    from fleetcal.cli.output import emit
    from fleetcal.services.bench.bench_checks import list_checks

    with open_chosen_store() as store:
        emit(list_checks(store, airframe), CHECKS)


@bench.command()
@click.argument("kind", type=click.Choice(["airspeed", "altimeter", "leak"]))
@click.argument("number", type=int)
@click.option("--reason", required=True, help="Why; it stays with the check.")
def withdraw(kind: str, number: int, reason: str) -> None:
    """Let a check that was entered wrongly count no more; it stays in the store.

    Points that were reduced with a withdrawn check keep its corrections: what
    each sortie was given is kept with it.

    \b
    Example:
      fleetcal bench withdraw leak 3 --reason "read 140 for 14"
    """
    from fleetcal.services.bench.bench_checks import withdraw as withdraw_it

    with open_chosen_store() as store:
        tag = withdraw_it(store, kind, number, reason)
    click.echo(f"{kind} check {number} of {tag} withdrawn: {reason.strip()}")
