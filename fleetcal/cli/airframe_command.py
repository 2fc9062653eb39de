"""The command that describes one airframe, by options or by questions."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date
from typing import TYPE_CHECKING, Final, TypedDict, Unpack

import click

from fleetcal.cli.amounts import amount
from fleetcal.cli.completion import static_sources, types
from fleetcal.cli.new_airframe import on_terminal
from fleetcal.cli.option_types import Day, Number
from fleetcal.cli.options import WEIGHT, chosen_place, given_options, own_tag_argument
from fleetcal.cli.printer import echo
from fleetcal.cli.shown_units import in_shown_units, shown_amount
from fleetcal.cli.verbs import Verb
from fleetcal.plain_text import printable

if TYPE_CHECKING:
    from fleetcal.services.fleet.describe_airframe import AirframeShown

#: By the answer: the question, with an example.
_QUESTIONS: Final = {
    "type": "Type, such as Corrie 2",
    "static_source": "Static source, such as wing boom",
    "engine": "Engine, such as 75 kW four",
    "propeller": "Propeller, such as two-blade fixed",
    "stall_kt": "Stall speed, flaps up, with its unit, such as 42kt",
    "weight_kg": "Usual take-off weight, with its unit, such as 600kg",
}
_EQUIPMENT: Final = ("static_source", "engine", "propeller")
_NAMES: Final = ("type", *_EQUIPMENT)


class AirframeOptions(TypedDict):
    """Options of the command: answers, each empty or None where there is none."""

    type: str
    static_source: str
    engine: str
    propeller: str
    pitot: str
    since: date | None
    stall_kt: float | None
    weight_kg: float | None
    registration: str
    note: str


@click.command(cls=Verb, shared=("speed_unit", "weight_unit"))
@own_tag_argument("tag")
@click.option("--type", "type", metavar="NAME", default="", shell_complete=types, help="Its type.")
@click.option(
    "--static-source",
    metavar="NAME",
    default="",
    shell_complete=static_sources,
    help="How it takes static pressure.",
)
@click.option("--engine", metavar="NAME", default="", help="Its engine.")
@click.option("--propeller", metavar="NAME", default="", help="Its propeller.")
@click.option("--pitot", metavar="TEXT", default="", help="Its pitot, if there is a choice.")
@click.option("--since", type=Day(), help="First day with this equipment, where it was changed.")
@click.option("--stall-kt", type=Number(10.0, 300.0), help="Stall speed of the type, flaps up.")
@click.option("--weight-kg", type=WEIGHT, help="Reference weight of the type: its usual one.")
@click.option("--registration", metavar="TEXT", default="", help="Its registration.")
@click.option("--note", metavar="TEXT", default="", help="A note to keep with it.")
def airframe(tag: str, **options: Unpack[AirframeOptions]) -> None:
    """Describe one airframe, as far as it is known, before its flights or after them.

    Nothing is needed but the TAG. Without options, on a terminal, it asks one
    question after another; each may be left blank, now and for ever.

    What was not described yet is filled in where it stands, and the flights that
    are kept follow; nothing is reduced again. Equipment that was described and is
    changed needs the day: --since. 'fleetcal undo' takes the last answer back.

    The type is shared: the airframes of one type with one static source, engine
    and propeller are pooled. An airframe whose type was not described is pooled
    with no other.

    \b
    Example:
      fleetcal fleet airframe C-07 --type "Corrie 2" --static-source "wing boom"
      fleetcal fleet airframe C-07 --engine "75 kW four" --propeller "two-blade fixed"
      fleetcal fleet airframe C-07 --stall-kt 42 --weight 1290lb
      fleetcal fleet airframe C-07 --static-source "tail-boom flush pair" --since 2026-05-01
      fleetcal fleet airframe C-07
    """
    from fleetcal.services.fleet.airframe_answers import AirframeAnswers
    from fleetcal.services.fleet.describe_airframe import describe_airframe, show_airframe

    if given_options() <= {"tag"}:
        shown = show_airframe(chosen_place(), tag)
        if not on_terminal():
            _show_only(tag, shown)
            return
        options = _answers(tag, shown)
    done = describe_airframe(chosen_place(), AirframeAnswers(tag=tag, **options))
    what = "is described" if done.known_before else "is new"
    same = "" if done.changed else ", as before"
    echo(f"{tag} {what} in {done.store}{same}:")
    _print(done.now)
    for new, known in done.like_named:
        echo(
            f"Note: {printable(new)!r} is new, and there is {printable(known)!r}; "
            "if you meant that: fleetcal undo",
            err=True,
        )


def _show_only(tag: str, shown: AirframeShown | None) -> None:
    """Show what is described of an airframe to somebody who cannot answer questions."""
    if shown is None:
        raise click.UsageError(
            f"{tag} is not in the store yet, and nothing was given to describe it by; "
            "'fleetcal fleet airframe --help' lists the options"
        )
    echo(f"{tag}:")
    _print(shown)


def _print(shown: AirframeShown) -> None:
    for line in _lines(shown):
        echo(f"  {in_shown_units(printable(line))}")


def _lines(shown: AirframeShown) -> Iterator[str]:
    from fleetcal.services.fleet.not_described import FIRST_DAY

    unknown = "not described yet"
    others = ""
    if shown.type and shown.others:
        first = ", ".join(shown.others[:3])
        more = len(shown.others) - 3
        others = f", as {first}" + (f" and {more} more" if more > 0 else "")
    yield f"type              {shown.type or unknown}{others}"
    yield f"static source     {shown.static_source or unknown}"
    yield f"engine            {shown.engine or unknown}"
    yield f"propeller         {shown.propeller or unknown}"
    if shown.pitot:
        yield f"pitot             {shown.pitot}"
    if shown.since not in (None, FIRST_DAY):
        yield f"carried since     {shown.since}"
    weight = shown.reference_weight_kg
    yield f"reference weight  {'supposed' if weight is None else f'{weight:.0f} kg'}"
    stall = shown.stall_kt
    scaling = shown_amount(shown.scaling_speed_kt, "kt")
    supposed = f"not known; {scaling} is taken to scale lift, and no curve depends on it"
    yield f"stall speed       {supposed if stall is None else f'{stall:.0f} kt, flaps up'}"
    if shown.registration:
        yield f"registration      {shown.registration}"


def _answers(tag: str, shown: AirframeShown | None) -> AirframeOptions:
    """Ask one question after another; a blank answer leaves what is known."""
    known = "It is in the store" if shown is not None else "It is not in the store yet"
    echo(f"{tag}: {known}. Every answer may stay blank.", err=True)
    names = {name: _ask(_question(shown, name)) for name in _NAMES}
    since = None
    if _changes(shown, names):
        since = _ask_day("First day with the new equipment, YYYY-MM-DD")
    return AirframeOptions(
        type=names["type"],
        static_source=names["static_source"],
        engine=names["engine"],
        propeller=names["propeller"],
        since=since,
        stall_kt=_ask_amount(_question(shown, "stall_kt"), "kt"),
        weight_kg=_ask_amount(_question(shown, "weight_kg"), "kg"),
        pitot="",
        registration="",
        note="",
    )


def _question(shown: AirframeShown | None, name: str) -> str:
    """Return a question with what is known in brackets."""
    fields = {"weight_kg": ("reference_weight_kg", "kg"), "stall_kt": ("stall_kt", "kt")}
    field, unit = fields.get(name, (name, ""))
    value = getattr(shown, field, None) if shown is not None else None
    now = "" if value in (None, "") else shown_amount(float(value), unit) if unit else str(value)
    return f"{_QUESTIONS[name]}{f' [{now}]' if now else ''}"


def _changes(shown: AirframeShown | None, names: Mapping[str, str]) -> bool:
    """Tell whether equipment that was described is to be another."""
    if shown is None:
        return False
    pairs = [(getattr(shown, name), names[name]) for name in _EQUIPMENT]
    return any(now and new and now != new for now, new in pairs)


def _ask(question: str) -> str:
    return str(click.prompt(question, default="", show_default=False, err=True)).strip()


def _ask_day(question: str) -> date | None:
    """Ask until the answer is blank or a day."""
    while answer := _ask(question):
        try:
            return Day().convert(answer, None, None)
        except click.BadParameter as error:
            echo(error.message, err=True)
    return None


def _ask_amount(question: str, unit: str) -> float | None:
    """Ask until the answer is blank or a number with a unit."""
    while answer := _ask(question):
        try:
            return amount(answer, unit)
        except click.BadParameter as error:
            echo(error.message, err=True)
    return None
