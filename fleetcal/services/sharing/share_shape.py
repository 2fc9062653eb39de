"""The shape of every kind of entry in a share file, and what must hold between them."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from typing import Any, Final, NoReturn

from fleetcal.errors import MalformedFileError
from fleetcal.records import BudgetTerm, Leg, Point, Power
from fleetcal.services.sharing.shape import (
    VERSION,
    Check,
    columns,
    day,
    filled,
    flag,
    json_object,
    listing,
    moment,
    number,
    one_of,
    optional,
    positive_integer,
    record,
    row,
    sha256_text,
    text,
    wrong,
)
from fleetcal.services.sharing.share_climbs import CLIMBS, DECISION, check_climbs
from fleetcal.store import CAS, IAS_ON
from fleetcal.store.exchange.collect_flown import content_mark
from fleetcal.store.exchange.entries import FLOWN, Entries, Entry, shown

_MAYBE: Final = optional(number)
_LEG: Final = record(*columns(Leg))
_SORTIE: Final[dict[str, Check]] = {
    "flown_on": day,
    "weight_kg": number,
    "track_reference": one_of("true", "magnetic", "unknown"),
    "settings_json": json_object,
    "note": text,
    "legs": listing(_LEG),
}


def _flights(term: Check) -> Check:
    """Return the shape of flights whose points have such terms."""
    must, may = columns(Point, "accepted", "reason")
    point = record({**must, "terms": listing(term)}, may)
    return record({"sorties": listing(record({**_SORTIE, "points": listing(point)}))})


def _power(version: int) -> Check:
    must, may = columns(Power, version=version)
    return record({**must, "noted_at": moment}, may)


_TERM: Final = columns(BudgetTerm)[0]
_POWER: Final = _power(VERSION)
_DECIDED: Final[dict[str, Check]] = {
    "added_at": moment,
    "program_version": text,
    "decisions": listing(DECISION),
}
_SORTIE_STATE: Final = record({**_DECIDED, "powers": listing(optional(_POWER))})
_CHECK_STATE: Final = record({"added_at": moment, "withdrawn": text})
_NOTHING: Final = record({})
#: A clock may run ahead so much; more could overrule what others decide until then.
_CLOCKS_DIFFER: Final = timedelta(minutes=10)
_TIMES: Final = ("added_at", "decided_at", "noted_at")
_SPEEDS: Final = ("stall_speed_clean_kt", "stall_speed_landing_kt", "flap_limit_kt")


def _PROPELLER(value: Any, where: str) -> None:
    """Check a propeller: its pitch where somebody said it."""
    (record({"pitch": one_of("fixed", "constant speed")}) if value else _NOTHING)(value, where)


_TYPE_VALUES: Final[dict[str, Check]] = {
    **dict.fromkeys(("reference_weight_kg", "scaling_speed_kt"), number),
    **dict.fromkeys(("wing_area_m2", *_SPEEDS), _MAYBE),
    **dict.fromkeys(("manoeuvring_speed_kt", "never_exceed_kt"), _MAYBE),
    "note": text,
}


def _TYPE(value: Any, where: str) -> None:
    """Check a type: what its speeds are where somebody said it."""
    has_speeds = isinstance(value, dict) and "speeds_are" in value
    record({**_TYPE_VALUES, **({"speeds_are": _speeds_are} if has_speeds else {})})(value, where)


def _speeds_are(value: Any, where: str) -> None:
    filled(value, where)
    if value != CAS and not (value.startswith(IAS_ON) and value[len(IAS_ON) :].strip()):
        wrong(where, f"{value[:40]!r} is neither {CAS} nor '{IAS_ON}' and a static source")


#: Key, content and state of each kind.
SHAPES: Final[dict[str, tuple[Check, Check, Check]]] = {
    "type": (
        row(filled),
        _TYPE,
        _NOTHING,
    ),
    "static_source": (row(filled, filled), record({"description": text}), _NOTHING),
    "engine": (row(filled), _NOTHING, _NOTHING),
    "propeller": (row(filled), _PROPELLER, _NOTHING),
    "airframe": (row(filled), record({"type": filled, "note": text}), _NOTHING),
    "registration": (row(filled), record({"registration": text}), _NOTHING),
    "thermometer": (
        row(filled),
        record({"shows": one_of("ambient", "probe"), "recovery_factor": _MAYBE}),
        _NOTHING,
    ),
    "fit": (
        row(filled, day),
        record(
            {
                **dict.fromkeys(("static_source", "engine", "propeller"), filled),
                **dict.fromkeys(("pitot", "note"), text),
            }
        ),
        _NOTHING,
    ),
    "handbook": (
        row(filled, filled, filled, filled),
        record(
            {
                "weight_kg": number,
                "rows": listing(row(number, number)),
                "speeds": listing(row(filled, number)),
            }
        ),
        _NOTHING,
    ),
    "cruise_table": (
        row(filled, filled, filled, filled),
        record({"weight_kg": number, "rows": listing(row(number, number, number))}),
        _NOTHING,
    ),
    "file": (
        row(sha256_text),
        record({"kind": one_of("log", "leg_sheet", "points", "measurement", "bench")}),
        record({"added_at": moment, "name": text}),
    ),
    "flights": (
        row(sha256_text, filled),
        _flights(record(_TERM)),
        record({"sorties": listing(_SORTIE_STATE)}),
    ),
    "climbs": CLIMBS,
    "bench_check": (
        row(filled, one_of("airspeed", "altimeter"), day, sha256_text, filled, positive_integer),
        record({"u": number, "note": text, "rows": listing(row(number, number))}),
        _CHECK_STATE,
    ),
    "leak_check": (
        row(filled, day, filled, positive_integer),
        record({"loss_ft": number, "limit_ft": number, "limit_source": filled, "note": text}),
        _CHECK_STATE,
    ),
    "issue": (
        row(filled, filled, filled, positive_integer),
        record(
            {
                "issued_on": day,
                **dict.fromkeys(("why", "program_version"), filled),
                **dict.fromkeys(("inputs_json", "table_json", "files_json"), json_object),
                **dict.fromkeys(("inputs_sha256", "table_sha256"), sha256_text),
                "model": text,
            }
        ),
        record({"added_at": moment, "withdrawn": text, "withdrawn_on": optional(day)}),
    ),
}
_SHARED_TERMS: Final = _flights(
    record({**{name: check for name, check in _TERM.items() if name != "owner"}, "shared": flag})
)
_KEY: Final = SHAPES["flights"][0]
_SECOND_STATE: Final = record({**_DECIDED, "powers": listing(optional(_power(2)))})
#: Flights as older versions of the format had them: the first without powers, the second without
#: what makes a power doubtful, both without owners.
OLDER_FLIGHTS: Final = {
    version: (_KEY, _SHARED_TERMS, record({"sorties": listing(state)}))
    for version, state in ((1, record(_DECIDED)), (2, _SECOND_STATE))
}


def check_together(entries: Entries, name: str, now: datetime) -> None:
    """Check what no single value shows: references, hashes, counts, times to come.

    Args:
        name: Of the file, for messages.
        now: Aware.

    Raises:
        MalformedFileError: If something does not hold together.
    """
    latest = (now.astimezone(UTC) + _CLOCKS_DIFFER).isoformat(timespec="microseconds")
    first_fits: dict[str, str] = {}
    for entry in entries.values():
        if entry.kind == "fit":
            tag, begun = entry.key
            first_fits[tag] = min(begun, first_fits.get(tag, begun))
    check_climbs(entries, first_fits, name)
    for entry in entries.values():
        where = f"{name}: {shown(entry)}"
        _check_references(entry, entries, where)
        ahead = max(_moments(entry.state), default="")
        if ahead > latest:
            _refuse_ahead(where, ahead, now)
        if entry.kind == "flights":
            _check_flights(entry, first_fits, where)
        elif entry.kind == "issue":
            _check_issue(entry, where)
        elif entry.kind in ("bench_check", "leak_check"):
            _check_number(entry, entries, where)
        elif entry.kind == "handbook":
            _refuse_disorder([ias for ias, _ in entry.content["rows"]], "lines", where)
            _refuse_disorder([name for name, _ in entry.content["speeds"]], "speeds", where)
        elif entry.kind == "cruise_table":
            _check_cruise_table(entry, where)


def _refuse_ahead(where: str, ahead: str, now: datetime) -> NoReturn:
    here = now.astimezone(UTC).isoformat(sep=" ", timespec="seconds")
    raise MalformedFileError(
        f"{where}: has a time that is still to come, {ahead[:19].replace('T', ' ')} UTC; this "
        f"computer's clock says {here[:19]}",
        "set the clock that runs wrong; a decision is given the right time by taking it again",
    )


def _check_references(entry: Entry, entries: Entries, where: str) -> None:
    for kind, key in (*_needed(entry, entries), *_port_of_speeds(entry)):
        if (kind, key) not in entries:
            called = f"{kind.replace('_', ' ')} {' / '.join(map(str, key))}"
            wrong(where, f"refers to the {called}, which the file does not have")


def _check_number(entry: Entry, entries: Entries, where: str) -> None:
    """Check the part of a key that follows from the content, and the count of those alike."""
    *others, mark, number = entry.key
    if mark != content_mark(dict(entry.content)):
        wrong(where, "its key does not follow from its content")
    before = entries.get((entry.kind, (*others, mark, number - 1)))
    if number > 1 and (before is None or before.state["added_at"] > entry.state["added_at"]):
        wrong(where, f"is number {number} of those alike, and the one before it does not fit")
    if entry.kind == "bench_check":
        _refuse_disorder([indicated for indicated, _ in entry.content["rows"]], "lines", where)


def _refuse_disorder(values: list[Any], what: str, where: str) -> None:
    """Refuse what another order would not change the meaning of, but the checksum."""
    if any(one >= other for one, other in pairwise(values)):
        wrong(where, f"its {what} are out of order, or one is there twice")


def _needed(entry: Entry, entries: Entries) -> list[tuple[str, tuple[Any, ...]]]:
    """Return what an entry refers to."""
    key, content = entry.key, entry.content
    if entry.kind in ("static_source", "issue"):
        return [("type", key[:1])]
    if entry.kind == "airframe":
        return [("type", (content["type"],))]
    if entry.kind in ("registration", "thermometer", "leak_check"):
        return [("airframe", key[:1])]
    if entry.kind == "fit":
        airframe = entries.get(("airframe", key[:1]))
        if airframe is None:
            return [("airframe", key[:1])]
        source = (airframe.content["type"], content["static_source"])
        named = [(kind, (content[kind],)) for kind in ("engine", "propeller")]
        return [("static_source", source), *named]
    if entry.kind == "handbook":
        return [("type", key[:1]), ("static_source", key[:2])]
    if entry.kind == "cruise_table":
        return [("type", key[:1]), ("engine", key[1:2]), ("propeller", key[2:3])]
    if entry.kind in FLOWN:
        return [("file", key[:1]), ("airframe", key[1:2])]
    if entry.kind == "bench_check":
        return [("airframe", key[:1]), ("file", (key[3],))]
    return []


def _port_of_speeds(entry: Entry) -> list[tuple[str, tuple[Any, ...]]]:
    """Return the static source whose IAS the speeds of a type are said to be."""
    speeds_are = str(entry.content.get("speeds_are", "")) if entry.kind == "type" else ""
    port = speeds_are.removeprefix(IAS_ON) if speeds_are.startswith(IAS_ON) else ""
    return [("static_source", (*entry.key, port))] if port else []


def _moments(value: Any) -> list[str]:
    """Return all moments in a state."""
    if isinstance(value, Mapping):
        own = [v for k, v in value.items() if k in _TIMES and v is not None]
        return own + [m for inner in value.values() for m in _moments(inner)]
    return [m for inner in value for m in _moments(inner)] if isinstance(value, list) else []


def _check_flights(entry: Entry, first_fits: Mapping[str, str], where: str) -> None:
    sorties, states = entry.content["sorties"], entry.state["sorties"]
    if not sorties or len(sorties) != len(states):
        wrong(where, f"{len(sorties)} sorties with the standing of {len(states)}")
    for i, (sortie, state) in enumerate(zip(sorties, states, strict=True), 1):
        place = f"{where}, sortie {i}"
        if len(sortie["points"]) != len(state["decisions"]):
            wrong(place, f"{len(sortie['points'])} points, {len(state['decisions'])} decisions")
        if len(sortie["points"]) != len(state["powers"]):
            wrong(place, f"{len(sortie['points'])} points, the powers of {len(state['powers'])}")
        _refuse_disorder([point["number"] for point in sortie["points"]], "points", place)
        legs = [(leg["run_number"], leg["leg_number"]) for leg in sortie["legs"]]
        _refuse_disorder(legs, "legs", place)
        if sortie["flown_on"] < first_fits.get(entry.key[1], "9999"):
            wrong(place, f"nothing was fitted to {entry.key[1]} on {sortie['flown_on']}")


def _check_cruise_table(entry: Entry, where: str) -> None:
    lines = [(altitude, power) for power, altitude, _ in entry.content["rows"]]
    if not lines:
        wrong(where, "has no line")
    _refuse_disorder(lines, "lines", where)


def _check_issue(entry: Entry, where: str) -> None:
    for name in ("inputs", "table"):
        digest = hashlib.sha256(entry.content[f"{name}_json"].encode("utf-8")).hexdigest()
        if digest != entry.content[f"{name}_sha256"]:
            wrong(where, f"its {name} do not have the SHA-256 that it states")
