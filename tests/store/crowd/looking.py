"""What readers look for, and what must be found at the end."""

from __future__ import annotations

import json
import re
import time
import traceback
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import IO

from sqlalchemy import text
from sqlalchemy.orm import Session

from fleetcal.services.keeping.check_store import check_store
from fleetcal.store import Store, open_store

from .work import KINDS, TERMS, Line

_NAME = re.compile(r"w\d+-\d+-p(\d+)\.csv")
_FLIGHTS = text(
    "SELECT f.name, count(p.id), count(DISTINCT p.reason), min(CASE WHEN p.accepted THEN 1 ELSE 0"
    " END), max(CASE WHEN p.accepted THEN 1 ELSE 0 END), min(p.reason), count(DISTINCT s.id)"
    " FROM source_file AS f LEFT JOIN sortie AS s ON s.source_file_id = f.id"
    " LEFT JOIN calibration_point AS p ON p.sortie_id = s.id GROUP BY f.name"
)
_TERMS = text(
    "SELECT (SELECT count(*) FROM uncertainty_term), (SELECT count(*) FROM calibration_point)"
)
_ACTS = text("SELECT act, count(*) AS times FROM store_change GROUP BY act")
_CHECK_EVERY = 25


@dataclass
class Seen:
    """What a session sees: flights with what was decided on them, and the acts of the history."""

    flights: dict[str, tuple[bool, str]] = field(default_factory=dict)
    acts: dict[str, int] = field(default_factory=dict)
    wrong: list[str] = field(default_factory=list)


def look(session: Session) -> Seen:
    """Read the whole store and note every flight that is not whole."""
    seen = Seen(acts={row.act: row.times for row in session.execute(_ACTS)})
    for name, points, reasons, least, most, reason, sorties in session.execute(_FLIGHTS):
        told = _NAME.fullmatch(name)
        if told is None:
            continue
        if points != int(told[1]) or sorties != 1:
            seen.wrong.append(f"{name} has {points} points in {sorties} sorties")
        if reasons != 1 or least != most:
            seen.wrong.append(f"{name} is half decided")
        seen.flights[name] = bool(most), reason
    terms, points = session.execute(_TERMS).one()
    if terms != TERMS * points:
        seen.wrong.append(f"{points} points have {terms} terms")
    added = sum(count for act, count in seen.acts.items() if act.split()[0] in ("import", "merge"))
    if added != len(seen.flights):
        seen.wrong.append(f"the history tells of {added} flights, and {len(seen.flights)} are seen")
    return seen


def read_until(place: str, deadline: float, log: IO[str]) -> None:
    """Read again and again, as a program anew each time, and note what is not whole."""
    rounds = 0
    while time.monotonic() < deadline:
        began = time.monotonic()
        wrong: list[str] = []
        try:
            with open_store(place, create=False) as store:
                with store.reading() as session:
                    wrong += look(session).wrong
                    wrong += look(session).wrong  # the same state a second time
                if rounds % _CHECK_EVERY == 0:
                    wrong += [f"{f.where}: {f.what}" for f in check_store(store).faults]
        except Exception:
            wrong.append(traceback.format_exc())
        rounds += 1
        log.write(json.dumps({"took_s": time.monotonic() - began, "wrong": wrong}) + "\n")
        log.flush()


def wrong_at_the_end(store: Store, lines: Sequence[Line]) -> list[str]:
    """Hold the store against what the writers were told."""
    with store.reading() as session:
        seen = look(session)
    told = Counter(line.label for line in lines if not line.error)
    stored = Counter({a: n for a, n in seen.acts.items() if a.split()[0] in KINDS})
    wrong = list(seen.wrong)
    wrong += [
        f"{label} was acknowledged and is there {stored[label]} times"
        for label in told
        if stored[label] != 1
    ]
    wrong += [f"{label} is there and was never acknowledged" for label in stored - told]
    wrong += [f"{f.where}: {f.what}" for f in check_store(store).faults]
    for file, decided in _last_decisions(lines).items():
        if seen.flights.get(file) != decided:
            wrong.append(f"{file} should be {decided} and is {seen.flights.get(file)}")
    return wrong


def _last_decisions(lines: Iterable[Line]) -> dict[str, tuple[bool, str]]:
    """Return what was last decided on each flight; only its own writer decides on it."""
    last: dict[str, tuple[bool, str]] = {}
    for line in lines:
        if line.error:
            continue
        accepted = line.accepted is not False
        last[line.file] = accepted, "" if accepted else line.label
    return last
