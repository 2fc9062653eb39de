"""Commands on bench checks of instruments and leak checks of static systems."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import Final

import click

from fleetcal.cli.failure import inform
from fleetcal.cli.option_types import Day, Number
from fleetcal.cli.options import (
    PATH,
    airframe_option,
    given_options,
    note_option,
    open_chosen_store,
    reason_option,
    refuse_others,
)
from fleetcal.cli.output import say
from fleetcal.cli.verbs import VerbGroup
from fleetcal.plain_text import sentence
from fleetcal.wording import counted

KINDS: Final = ("airspeed", "altimeter", "leak")
_kind_argument = click.argument("kind", type=click.Choice(KINDS))
_FITS: Final[Mapping[str, Sequence[str]]] = {
    "file": KINDS[:2],
    "u_kt": KINDS[:1],
    "u_ft": KINDS[1:2],
    **dict.fromkeys(("loss_ft", "limit_ft", "limit_source"), KINDS[2:]),
}
_NEEDED: Final[Mapping[str, Mapping[str, str]]] = {
    "airspeed": {"file": "argument 'FILE'", "u_kt": "option '--u-kt'"},
    "altimeter": {"file": "argument 'FILE'", "u_ft": "option '--u-ft'"},
    "leak": {"loss_ft": "option '--loss-ft'"},
}


@click.group(cls=VerbGroup)
def bench() -> None:
    """Enter what was found on the bench: instrument corrections and leaks.

    The newest check not later than a flight corrects its readings when the flight
    is reduced or measured. A failed leak check bars what the airframe flew since
    its last passed check from every pool, until it passes again; a check counts
    from the start of its day. 'fleetcal show checks' lists them.

    \b
    Example:
      fleetcal bench enter airspeed indicator.csv --airframe C-07 --date 2024-03-01 --u-kt 0.5
      fleetcal bench enter leak --airframe C-07 --date 2024-03-01 --loss-ft 20
    """


@bench.command()
@_kind_argument
@click.argument("file", metavar="[FILE]", type=PATH, required=False)
@airframe_option(required=True, help="Tag of the airframe.")
@click.option("--date", "checked_on", type=Day(), required=True, help="Day of the check.")
@click.option(
    "--u-kt", type=Number(0.01, 50.0), help="Standard uncertainty of airspeed corrections."
)
@click.option(
    "--u-ft", type=Number(0.1, 2000.0), help="Standard uncertainty of altimeter corrections."
)
@click.option(
    "--loss-ft", type=Number(0.0, 100000.0), help="Indicated altitude lost in one minute."
)
@click.option("--limit-ft", type=Number(0.1, 100000.0), help="Limit of that loss; 100 if left out.")
@click.option("--limit-source", default="", metavar="TEXT", help="Where another limit is from.")
@note_option(help="A note to keep with the check.")
def enter(
    kind: str,
    file: Path | None,
    airframe: str,
    checked_on: date,
    u_kt: float | None,
    u_ft: float | None,
    loss_ft: float | None,
    limit_ft: float | None,
    limit_source: str,
    note: str,
) -> None:
    """Enter a check: airspeed or altimeter from a CSV FILE, or a leak.

    A correction is added to the reading: true minus indicated; the altimeter with
    1013.25 hPa set. A leak check is of the closed static system; the limit is
    100 ft in one minute, as 14 CFR 23.1325(b)(2)(i) had it.

    \b
    Example:
      fleetcal bench enter airspeed indicator.csv --airframe C-07 --date 2024-03-01 --u-kt 0.5
      fleetcal bench enter altimeter altimeter.csv --airframe C-07 --date 2024-03-01 --u-ft 10
      fleetcal bench enter leak --airframe C-07 --date 2024-03-01 --loss-ft 20
    \b
    Example of a FILE of airspeeds, and of altitudes:
      indicated_kt,correction_kt          indicated_ft,correction_ft
      60,0.5                              0,10
      90,0                                3000,-5
      120,-1.5                            6000,-20
    """
    refuse_others(kind, _FITS)
    for name, words in _NEEDED[kind].items():
        if name not in given_options():
            raise click.UsageError(f"Missing {words} of a check of kind '{kind}'")
    if loss_ft is not None:
        _enter_leak(
            airframe, checked_on, loss_ft, limit_ft=limit_ft, limit_source=limit_source, note=note
        )
        return
    u = u_kt if u_kt is not None else u_ft
    if file is not None and u is not None:
        _enter_instrument(kind, file, airframe, day=checked_on, u=u, note=note)


def _enter_instrument(kind: str, file: Path, airframe: str, day: date, u: float, note: str) -> None:
    from fleetcal.services.bench.bench_checks import enter_bench_check

    with open_chosen_store() as store:
        done = enter_bench_check(
            store,
            kind,
            file,
            airframe=airframe,
            checked_on=day,
            u=u,
            note=note,
            tell=inform,
        )
    what = f"{done.kind} check {done.number} of {done.airframe} on {done.checked_on}"
    if done.known_already:
        say(sentence(f"{what}: the same content is in the store already; nothing was added"))
    else:
        say(sentence(f"{what}: {counted(done.rows, 'line')} entered"))


def _enter_leak(
    airframe: str,
    day: date,
    loss_ft: float,
    limit_ft: float | None,
    limit_source: str,
    note: str,
) -> None:
    from fleetcal.services.bench.bench_checks import enter_leak_check

    with open_chosen_store() as store:
        done = enter_leak_check(
            store,
            airframe,
            day,
            loss_ft=loss_ft,
            limit_ft=limit_ft,
            limit_source=limit_source,
            note=note,
        )
    verdict = "passed" if done.passed else "FAILED"
    say(
        f"Leak check {done.number} of {done.airframe} on {done.checked_on}: {verdict}, "
        f"{done.loss_ft:g} ft against {done.limit_ft:g} ft ({done.limit_source})."
    )
    if not done.passed:
        say(
            "What it flew since its last passed check is barred from every pool until it passes.",
            err=True,
        )


@bench.command()
@_kind_argument
@click.argument("number", type=int)
@reason_option(required=True, help="Why; it stays with the check.")
def withdraw(kind: str, number: int, reason: str) -> None:
    """Withdraw a check that was entered wrongly; it stays in the store.

    Points that were reduced with a withdrawn check keep its corrections: what
    each sortie was given is kept with it.

    \b
    Example:
      fleetcal bench withdraw leak 3 --reason "read 140 for 14"
    """
    from fleetcal.services.bench.bench_checks import withdraw as withdraw_it

    with open_chosen_store() as store:
        tag = withdraw_it(store, kind, number, reason)
    say(sentence(f"{kind} check {number} of {tag} withdrawn: {reason.strip()}"))
