"""The fleet description as a TOML file: read it, write it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, fields
from datetime import date, datetime
from pathlib import Path
from typing import Any

from fleetcal.errors import DataError, EmptyFileError, MalformedFileError, NotTextError
from fleetcal.plain_file import text_of, toml_of
from fleetcal.store import (
    CAS,
    IAS_ON,
    PITCHES,
    AirframeDescription,
    CruiseTableDescription,
    FitDescription,
    FleetDescription,
    HandbookDescription,
    PropellerDescription,
    StaticSourceDescription,
    TypeDescription,
)


def read_fleet_file(path: Path) -> FleetDescription:
    """Read a fleet description.

    Args:
        path: TOML with tables ``type`` (each with ``static_source``), ``engine``, ``propeller``,
            ``airframe`` (each with ``fit``), ``handbook`` and ``cruise_table``.

    Raises:
        DataError: If the file is missing, empty, not text, not TOML, or a key is unknown, missing
            or of the wrong kind; the message names the place.
    """
    return parse_fleet(_load_toml(path), path.name)


def _load_toml(path: Path) -> dict[str, Any]:
    try:
        text = text_of(path)
    except OSError as error:
        raise DataError(f"{path.name}: {error.strerror}", "check the path") from error
    except UnicodeDecodeError as error:
        raise NotTextError(f"{path.name}: not a text file in UTF-8", "give a TOML file") from error
    if not text.strip():
        raise EmptyFileError(f"{path.name}: the file is empty", "describe the fleet in it")
    try:
        return toml_of(text)
    except ValueError as error:
        raise MalformedFileError(f"{path.name}: {error}", "correct the file there") from error


def parse_fleet(document: Mapping[str, Any], name: str) -> FleetDescription:
    """Turn the parsed TOML into a description.

    Args:
        name: Of the file, for messages.

    Raises:
        MalformedFileError: If a key is unknown, missing or of the wrong kind.
    """
    known = {"type", "engine", "propeller", "airframe", "handbook", "cruise_table"}
    for key in document:
        if key not in known:
            raise MalformedFileError(
                f"{name}: unknown table {key!r}", f"the tables are {', '.join(sorted(known))}"
            )
    rows = {key: _tables(document.get(key, []), key, name) for key in known}
    return FleetDescription(
        types=tuple(_type(row, f"{name}: type {i}") for i, row in enumerate(rows["type"], 1)),
        engines=tuple(
            _named(row, f"{name}: engine {i}") for i, row in enumerate(rows["engine"], 1)
        ),
        propellers=tuple(
            _propeller(row, f"{name}: propeller {i}") for i, row in enumerate(rows["propeller"], 1)
        ),
        airframes=tuple(
            _airframe(row, f"{name}: airframe {i}") for i, row in enumerate(rows["airframe"], 1)
        ),
        handbooks=tuple(
            _handbook(row, f"{name}: handbook {i}") for i, row in enumerate(rows["handbook"], 1)
        ),
        cruise_tables=tuple(
            _cruise_table(row, f"{name}: cruise_table {i}")
            for i, row in enumerate(rows["cruise_table"], 1)
        ),
    )


def fleet_document(description: FleetDescription) -> dict[str, Any]:
    """Turn a description into what the TOML file holds, the inverse of `parse_fleet`."""
    airframes = []
    for airframe in description.airframes:
        row = _filled(airframe, leave_out=("fits",))
        row["fit"] = [
            {"from": fit.from_date, **_filled(fit, leave_out=("from_date",))}
            for fit in airframe.fits
        ]
        airframes.append(row)
    types = []
    for kind in description.types:
        row = _filled(kind, leave_out=("static_sources",))
        row["static_source"] = [_filled(source) for source in kind.static_sources]
        types.append(row)
    return {
        "type": types,
        "engine": [{"name": engine} for engine in description.engines],
        "propeller": [_filled(propeller) for propeller in description.propellers],
        "airframe": airframes,
        "handbook": [
            {
                **_filled(book, leave_out=("rows", "speeds")),
                "rows": [list(row) for row in book.rows],
                **({"speeds": [list(row) for row in book.speeds]} if book.speeds else {}),
            }
            for book in description.handbooks
        ],
        **_cruise_document(description),
    }


def _cruise_document(description: FleetDescription) -> dict[str, Any]:
    rows = [
        {**_filled(table, leave_out=("rows",)), "rows": [list(row) for row in table.rows]}
        for table in description.cruise_tables
    ]
    return {"cruise_table": rows} if rows else {}


def _filled(item: Any, leave_out: tuple[str, ...] = ()) -> dict[str, Any]:
    return {
        key: value
        for key, value in asdict(item).items()
        if key not in leave_out and value is not None and value != ""
    }


def _tables(value: Any, key: str, name: str) -> list[Mapping[str, Any]]:
    if not isinstance(value, list) or not all(isinstance(row, dict) for row in value):
        raise MalformedFileError(f"{name}: {key!r} is not a list of tables", f"write [[{key}]]")
    return value


def _take(
    row: Mapping[str, Any], model: type, where: str, renamed: Mapping[str, str]
) -> dict[str, Any]:
    """Return the fields of a dataclass found in a row, checked for kind and for strangers."""
    allowed = {f.name: f for f in fields(model)}
    taken: dict[str, Any] = {}
    for key, value in row.items():
        field = renamed.get(key, key)
        if field not in allowed or (key in renamed.values() and key not in renamed):
            raise MalformedFileError(
                f"{where}: unknown key {key!r}", f"known: {_keys(model, renamed)}"
            )
        taken[field] = _checked(value, str(allowed[field].type), f"{where}: {key}")
    for field, description in allowed.items():
        needed = description.default is description.default_factory
        shown = {v: k for k, v in renamed.items()}.get(field, field)
        if needed and field not in taken:
            raise MalformedFileError(f"{where}: {shown!r} is missing", "add it")
        if needed and isinstance(taken[field], str) and not taken[field].strip():
            raise MalformedFileError(f"{where}: {shown!r} is blank", "fill it in")
    return taken


def _keys(model: type, renamed: Mapping[str, str]) -> str:
    shown = {v: k for k, v in renamed.items()}
    return ", ".join(shown.get(f.name, f.name) for f in fields(model))


def _checked(value: Any, kind: str, where: str) -> Any:
    if kind.startswith("float"):
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise MalformedFileError(f"{where}: {value!r} is not a number", "write a number")
        if not 0.0 < value < 1e9:
            raise MalformedFileError(
                f"{where}: {value!r} cannot be a weight, an area or a speed",
                "write a number above zero",
            )
        return float(value)
    if kind.startswith("date"):
        if isinstance(value, datetime) or not isinstance(value, date):
            shown = repr(value) if isinstance(value, str) else str(value)
            raise MalformedFileError(f"{where}: {shown} is not a date", "write YYYY-MM-DD")
        return value
    if kind.startswith("str") and (not isinstance(value, str) or not value.isprintable()):
        raise MalformedFileError(f"{where}: {value!r} is not a line of text", 'write "text"')
    return value


def _named(row: Mapping[str, Any], where: str) -> str:
    if set(row) != {"name"}:
        raise MalformedFileError(f"{where}: must have one key, name", 'write name = "..."')
    name = str(_checked(row["name"], "str", f"{where}: name"))
    if not name.strip():
        raise MalformedFileError(f"{where}: 'name' is blank", "fill it in")
    return name


def _propeller(row: Mapping[str, Any], where: str) -> PropellerDescription:
    taken = PropellerDescription(**_take(row, PropellerDescription, where, {}))
    if taken.pitch not in PITCHES:
        raise MalformedFileError(
            f"{where}: pitch {taken.pitch!r} is not known",
            "write 'fixed' (also for one set on the ground) or 'constant speed', or leave it out",
        )
    return taken


def _type(row: Mapping[str, Any], where: str) -> TypeDescription:
    taken = _take(row, TypeDescription, where, {"static_source": "static_sources"})
    sources = _tables(taken.pop("static_sources", []), "static_source", where)
    speeds_are = taken.get("speeds_are", "")
    if not speeds_are_known(speeds_are):
        raise MalformedFileError(
            f"{where}: speeds_are {speeds_are!r} is not known",
            f"write '{CAS}', or '{IAS_ON}' and a static source of the type, or leave it out",
        )
    return TypeDescription(
        **taken,
        static_sources=tuple(
            StaticSourceDescription(
                **_take(source, StaticSourceDescription, f"{where}, static_source {i}", {})
            )
            for i, source in enumerate(sources, 1)
        ),
    )


def speeds_are_known(text: str) -> bool:
    """Tell whether a text can say what the speeds of a type are."""
    named_port = text.startswith(IAS_ON) and text.removeprefix(IAS_ON).strip()
    return text in ("", CAS) or bool(named_port)


def _refuse_thermometer(taken: Mapping[str, Any], where: str) -> None:
    """Refuse what no temperature display shows."""
    shows, factor = taken.get("temperature_shows"), taken.get("recovery_factor")
    if shows not in (None, "ambient", "probe"):
        raise MalformedFileError(
            f"{where}: temperature_shows = {shows!r} is not known",
            'write "ambient" or "probe", or leave it out',
        )
    if factor is not None and (shows != "probe" or factor > 1.0):
        raise MalformedFileError(
            f"{where}: recovery_factor = {factor:g} is of a probe, and at most 1",
            'write temperature_shows = "probe" with it',
        )


def _airframe(row: Mapping[str, Any], where: str) -> AirframeDescription:
    taken = _take(row, AirframeDescription, where, {"fit": "fits"})
    _refuse_thermometer(taken, where)
    fits = _tables(taken.pop("fits", []), "fit", where)
    return AirframeDescription(
        **taken,
        fits=tuple(
            FitDescription(**_take(fit, FitDescription, f"{where}, fit {i}", {"from": "from_date"}))
            for i, fit in enumerate(fits, 1)
        ),
    )


def _handbook(row: Mapping[str, Any], where: str) -> HandbookDescription:
    taken = _take(row, HandbookDescription, where, {})
    rows = _pairs(taken.pop("rows", []), f"{where}: rows", "write [[ias, cas], ...]")
    speeds = _pairs(taken.pop("speeds", []), f"{where}: speeds", 'write [["stall", ias], ...]')
    return HandbookDescription(
        **taken,
        rows=tuple(
            (_checked(i, "float", f"{where}: rows"), _checked(c, "float", f"{where}: rows"))
            for i, c in rows
        ),
        speeds=tuple(
            (_checked(n, "str", f"{where}: speeds"), _checked(i, "float", f"{where}: speeds"))
            for n, i in speeds
        ),
    )


def _cruise_table(row: Mapping[str, Any], where: str) -> CruiseTableDescription:
    taken = _take(row, CruiseTableDescription, where, {})
    rows = taken.pop("rows", [])
    good = isinstance(rows, list) and all(
        isinstance(line, list)
        and len(line) == 3
        and all(isinstance(v, int | float) and not isinstance(v, bool) for v in line)
        for line in rows
    )
    if not good:
        raise MalformedFileError(
            f"{where}: rows is not a list of three numbers each", "write [[power, altitude, tas]]"
        )
    for power, altitude, tas in rows:
        if not (0.0 < power <= 130.0 and -2000.0 <= altitude <= 40000.0 and 0.0 < tas < 1000.0):
            raise MalformedFileError(
                f"{where}: [{power:g}, {altitude:g}, {tas:g}] is no line of a cruise table",
                "write power in %, pressure altitude in ft and true airspeed in kt",
            )
    # a zero without its sign: -0.0 in a file is no other altitude
    lines = tuple((float(p), float(h) + 0.0, float(v)) for p, h, v in rows)
    return CruiseTableDescription(**taken, rows=lines)


def _pairs(value: Any, where: str, hint: str) -> list[Any]:
    if not isinstance(value, list) or not all(
        isinstance(pair, list) and len(pair) == 2 for pair in value
    ):
        raise MalformedFileError(f"{where} is not a list of pairs", hint)
    return value
