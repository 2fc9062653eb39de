"""What was found on the bench: instruments and static systems checked, checks withdrawn."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Final

from flask import Blueprint, request
from werkzeug.wrappers import Response

from fleetcal.errors import DataError, UnknownNameError
from fleetcal.plain_text import sentence
from fleetcal.publish.site.content_airframe import airframe_path
from fleetcal.services.bench.bench_checks import (
    CheckLine,
    enter_bench_check,
    enter_leak_check,
    list_checks,
    withdraw,
)
from fleetcal.web.act_airframe import about, the_airframe
from fleetcal.web.acting import Act, answer, note_done
from fleetcal.web.fields import Field, FieldsError, Typed
from fleetcal.web.files import dropped, private_folder
from fleetcal.web.shown import page, the_desk
from fleetcal.wording import counted

act_bench = Blueprint("act_bench", __name__)
_DAY: Final = Field(name="checked_on", label="Day of the check", kind="day", required=True)
_NOTE: Final = Field(name="note", label="Note to keep with it")
_APART: Final = re.compile(r"[;\t]|,\s+|\s+")
_UNITS: Final = {"airspeed": "kt", "altimeter": "ft"}
_EXAMPLES: Final = {"airspeed": "60 0.5", "altimeter": "3000 -5"}
_LOWEST_U: Final = {"airspeed": (0.01, 50.0), "altimeter": (0.1, 2000.0)}
_NAMES: Final = {"airspeed": "airspeed indicator", "altimeter": "altimeter"}


def _instrument(kind: str) -> Act:
    unit, name = _UNITS[kind], _NAMES[kind]
    low, high = _LOWEST_U[kind]
    return Act(
        words=f"bench enter {kind}",
        title=f"A check of the {name}",
        fields=(
            _DAY,
            Field(
                name="u",
                label="Standard uncertainty of the corrections",
                kind="number",
                unit=unit,
                required=True,
                low=low,
                high=high,
            ),
            Field(
                name="readings",
                label=f"Reading and correction, {unit}, a pair in each line",
                kind="lines",
                advice=f"Such as {_EXAMPLES[kind]}. The correction is added to the reading: true "
                "minus indicated.",
            ),
            Field(
                name="file",
                label="Or a file in their place",
                kind="file",
                advice=f"CSV with the columns indicated_{unit} and correction_{unit}.",
            ),
            _NOTE,
        ),
        button="Keep the check",
        intro=(
            "The newest check not later than a flight corrects its readings when the flight is "
            "reduced. Flights that are kept already stay as they are until they are reduced again.",
            *(("The altimeter is checked with 1013.25 hPa set.",) if kind == "altimeter" else ()),
        ),
    )


_INSTRUMENTS: Final[Mapping[str, Act]] = {kind: _instrument(kind) for kind in _UNITS}
_LEAK: Final = Act(
    words="bench enter leak",
    title="A leak check of the static system",
    fields=(
        _DAY,
        Field(
            name="loss_ft",
            label="Indicated altitude lost in one minute, system closed",
            kind="number",
            unit="ft",
            required=True,
            low=0.0,
            high=100000.0,
        ),
        Field(
            name="limit_ft",
            label="Limit of that loss, if it is not 100 ft",
            kind="number",
            unit="ft",
            low=0.1,
            high=100000.0,
        ),
        Field(name="limit_source", label="Where that limit is from"),
        _NOTE,
    ),
    button="Keep the check",
    intro=(
        "A failed check bars what the airframe flew since its last passed check from every pool, "
        "until it passes again.",
    ),
    fold=("limit_ft", "limit_source", "note"),
    fold_line="Another limit, a note",
)
_WITHDRAW: Final = Act(
    words="bench withdraw",
    title="Withdraw a check",
    fields=(Field(name="reason", label="Why", required=True, advice="It stays with the check."),),
    button="Withdraw it",
    intro=(
        "A check that was entered wrongly counts no more; it stays in the store. Points that were "
        "reduced with it keep its corrections.",
    ),
)


@act_bench.get("/do/bench")
def checks() -> str:
    """List the checks of an airframe."""
    tag = the_airframe().airframe
    found = list_checks(the_desk().store, tag).checks
    return page(
        "desk_bench.html",
        title=f"Bench checks of {tag}",
        tag=tag,
        path=airframe_path(tag),
        checks=[{"check": one, "words": _words(one)} for one in found],
    )


@act_bench.route("/do/bench/<kind>", methods=["GET", "POST"])
def enter(kind: str) -> Response | str:
    """Enter a check of an instrument, or of a static system."""
    tag = the_airframe().airframe
    if kind == "leak":
        return answer(about(_LEAK, tag), request.args, lambda typed: _enter_leak(tag, typed))
    if kind not in _INSTRUMENTS:
        raise UnknownNameError(f"there is no check of kind {kind!r}")
    act = about(_INSTRUMENTS[kind], tag)
    return answer(act, request.args, lambda typed: _enter_instrument(tag, kind, typed))


@act_bench.route("/do/bench/withdraw", methods=["GET", "POST"])
def withdraw_check() -> Response | str:
    """Withdraw a check with a reason."""
    tag = the_airframe().airframe
    kind, number = request.args.get("kind", ""), request.args.get("number", "")
    found = next(
        (
            one
            for one in list_checks(the_desk().store, tag).checks
            if (one.kind, str(one.number)) == (kind, number)
        ),
        None,
    )
    if found is None:
        raise UnknownNameError(f"{tag} has no such check", "its bench checks are listed")

    def do(typed: Typed) -> str:
        reason = typed.text("reason")
        withdraw(the_desk().store, found.kind, found.number, reason)
        note_done(sentence(f"{found.kind} check of {found.checked_on} withdrawn: {reason}"))
        return airframe_path(tag)

    act = about(_WITHDRAW, tag)
    return answer(replace(act, title=f"Withdraw: {_words(found)}"), {}, do)


def _enter_instrument(tag: str, kind: str, typed: Typed) -> str:
    notes: list[str] = []
    day, u = typed.day("checked_on"), typed.number("u")
    assert day is not None  # both are required
    assert u is not None
    with private_folder() as folder:
        done = enter_bench_check(
            the_desk().store,
            kind,
            _file(folder, kind, typed),
            airframe=tag,
            checked_on=day,
            u=u,
            note=typed.text("note"),
            tell=notes.append,
        )
    what = f"{_NAMES[kind]} check of {tag} on {done.checked_on}"
    if done.known_already:
        note_done(sentence(f"{what}: the same is in the store already; nothing was added"))
    else:
        note_done(
            sentence(f"{what}: {counted(done.rows, 'line')} entered"),
            *(sentence(words.removesuffix(".")) for words in notes),
        )
    return airframe_path(tag)


def _enter_leak(tag: str, typed: Typed) -> str:
    day, loss_ft = typed.day("checked_on"), typed.number("loss_ft")
    assert day is not None  # both are required
    assert loss_ft is not None
    done = enter_leak_check(
        the_desk().store,
        tag,
        day,
        loss_ft=loss_ft,
        limit_ft=typed.number("limit_ft"),
        limit_source=typed.text("limit_source"),
        note=typed.text("note"),
    )
    barred = (
        ""
        if done.passed
        else " What it flew since its last passed check is barred from every pool until it passes."
    )
    note_done(
        f"Leak check of {tag} on {done.checked_on} {'passed' if done.passed else 'FAILED'}: "
        f"{done.loss_ft:g} ft against {done.limit_ft:g} ft ({done.limit_source}).{barred}"
    )
    return airframe_path(tag)


def _file(folder: Path, kind: str, typed: Typed) -> Path:
    """Return the file that was dropped, or one of the pairs that were typed."""
    sent = request.files.get("file")
    pairs, is_sent = typed.text("readings"), sent is not None and bool(sent.filename)
    if bool(pairs) == is_sent:
        words = "type the pairs or choose a file, not both" if pairs else "no pair was typed"
        raise DataError(words, "type a pair in each line, or choose a file")
    if is_sent:
        return dropped("file", folder)
    unit = _UNITS[kind]
    path = folder / "readings.csv"
    lines = [f"indicated_{unit};correction_{unit}"]
    for number, line in enumerate(pairs.splitlines(), 1):
        if not line.strip():
            continue
        parts = [part for part in _APART.split(line.strip()) if part]
        if len(parts) == 1:
            parts = parts[0].split(",")
        if len(parts) != 2:
            raise FieldsError(
                {"readings": f"line {number}: {line.strip()!r} is not a reading and a correction"}
            )
        lines.append(";".join(parts))
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path


def _words(check: CheckLine) -> str:
    """Return a check in words."""
    note = f" {sentence(check.note)}" if check.note else ""
    if check.kind == "leak":
        verdict = "passed" if check.passed else "failed"
        return (
            f"Leak check of {check.checked_on}: {verdict}, {check.loss_ft:g} ft lost in a minute "
            f"against {check.limit_ft:g} ft.{note}"
        )
    return (
        f"{_NAMES[check.kind].capitalize()} check of {check.checked_on}: {check.lines} lines from "
        f"{check.lowest:g} to {check.highest:g} {check.unit}, largest correction "
        f"{check.largest_correction:+g} {check.unit}, u {check.u:g} {check.unit}.{note}"
    )
