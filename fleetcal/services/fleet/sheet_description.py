"""From the rows of a fleet in a spreadsheet to a description, on top of what the store knows.

What a row leaves empty is as the row before of that airframe has it, else as the store has it,
else not described yet. A type without a stall speed is scaled with a supposed one.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from fleetcal.services.fleet.fleet_sheet import SheetRow, refuse_spelling_of_store
from fleetcal.services.fleet.not_described import (
    SUPPOSED_SCALING_KT,
    is_undescribed,
    note_of,
    rest_of_note,
    speed_is_supposed,
    supposed_type,
    undescribed_airframe,
    weight_is_supposed,
)
from fleetcal.services.fleet.sheet_columns import FIT, TYPE_NUMBERS
from fleetcal.store import (
    AirframeDescription,
    FitDescription,
    FleetDescription,
    PropellerDescription,
    StaticSourceDescription,
    TypeDescription,
)

_SHARED, _PAIRED = ("type", "static_source"), ("engine", "propeller")
_SCALES = "it only scales: curves stay the same, widths of bands nearly."


@dataclass(frozen=True)
class SheetFleet:
    """A description, and what of it nobody stated, in sentences."""

    description: FleetDescription
    supposed: tuple[str, ...]


def describe_sheet(rows: Sequence[SheetRow], known: FleetDescription) -> SheetFleet:
    """Return the description that the rows make.

    Args:
        rows: At least one.
        known: What the store has.

    Raises:
        MalformedFileError: If rows contradict each other; the message names the line.
    """
    _refuse_spellings(rows, known)
    by_tag: dict[str, list[SheetRow]] = {}
    for row in rows:
        by_tag.setdefault(row.tag, []).append(row)
    owned = {one.tag: one for one in known.airframes}
    airframes = [_airframe(own, owned.get(tag)) for tag, own in by_tag.items()]
    types = _types(by_tag, airframes, known)
    fits = [fit for one in airframes for fit in one.fits]
    description = FleetDescription(
        types=types,
        engines=tuple(dict.fromkeys(fit.engine for fit in fits)),
        propellers=_propellers(rows, fits, known),
        airframes=tuple(airframes),
    )
    return SheetFleet(description, _supposed(description, by_tag))


def _refuse_spellings(rows: Sequence[SheetRow], known: FleetDescription) -> None:
    ports = (source.name for kind in known.types for source in kind.static_sources)
    names: Mapping[str, Iterable[str]] = {
        "airframe": (one.tag for one in known.airframes),
        "type": (one.name for one in known.types),
        "static_source": ports,
        "engine": known.engines,
        "propeller": (one.name for one in known.propellers),
    }
    for column, there in names.items():
        spelt = tuple(dict.fromkeys(there))
        for row in rows:
            refuse_spelling_of_store(row, column, spelt)


def _airframe(rows: Sequence[SheetRow], known: AirframeDescription | None) -> AirframeDescription:
    tag = rows[0].tag
    (base,) = undescribed_airframe(tag).airframes
    own = known or base
    given: dict[str, Any] = {}
    for name in ("type", "registration", "note", "temperature_shows"):
        value = _agreed(rows, name)
        given |= {} if value is None else {name: value}
    factor = _agreed(rows, "recovery_factor")
    if factor is not None or "temperature_shows" in given:
        given["recovery_factor"] = factor
    return replace(own, **given, fits=_fits(rows, own, base.fits[0]))


def _agreed(rows: Sequence[SheetRow], column: str) -> Any:
    """Return the one value that rows give in a column, None where none does."""
    given = [(row, value) for row in rows if (value := row.value(column)) is not None]
    for row, value in given[1:]:
        first, before = given[0]
        if value != before:
            raise row.line.wrong(
                f"{value} here, {before} in line {first.line.line}",
                "give it once, or the same in every row",
                column,
            )
    return given[0][1] if given else None


def _fits(
    rows: Sequence[SheetRow], own: AirframeDescription, nothing: FitDescription
) -> tuple[FitDescription, ...]:
    stored = sorted(own.fits, key=lambda fit: fit.from_date)
    undated = [row for row in rows if row.from_date is None]
    if len(undated) > 1:
        raise undated[1].line.wrong(
            f"a second row of {own.tag} without a day",
            "give the day from which each holds; only the first may do without",
            "from",
        )
    newest = stored[-1].from_date if stored and len(rows) == 1 else nothing.from_date
    dated = sorted(((row.from_date or newest, row) for row in rows), key=lambda one: one[0])
    fits: list[FitDescription] = []
    for day, row in dated:
        if fits and fits[-1].from_date == day:
            raise row.line.wrong(
                f"{own.tag} has two rows from {day}", "give each change its day", "from"
            )
        begun = [fit for fit in (*stored, *fits) if fit.from_date <= day]
        before = max(begun, key=lambda fit: fit.from_date, default=nothing)
        start = before if before.from_date == day else replace(before, from_date=day, note="")
        given: dict[str, Any] = {name: row.texts[name] for name in FIT if name in row.texts}
        note = row.texts.get("fit_note", start.note)
        fits.append(replace(start, **given, note=note))
    return tuple(fits)


def _types(
    by_tag: Mapping[str, Sequence[SheetRow]],
    airframes: Sequence[AirframeDescription],
    known: FleetDescription,
) -> tuple[TypeDescription, ...]:
    there = {one.name: one for one in known.types}
    former = {one.tag: there[one.type] for one in known.airframes}
    found = []
    for name in dict.fromkeys(one.type for one in airframes):
        own = [one for one in airframes if one.type == name]
        kind = there.get(name)
        if kind is None:
            open_before = (former[one.tag] for one in own if one.tag in former)
            before = next((one for one in open_before if is_undescribed(one.name)), None)
            kind = replace(before or supposed_type(name), name=name, static_sources=())
        rows = [row for one in own for row in by_tag[one.tag]]
        ports = {source.name: source for source in kind.static_sources}
        for fit in (fit for one in own for fit in one.fits):
            ports.setdefault(fit.static_source, StaticSourceDescription(fit.static_source))
        found.append(replace(_filled_in(kind, rows), static_sources=tuple(ports.values())))
    return tuple(found)


def _filled_in(kind: TypeDescription, rows: Sequence[SheetRow]) -> TypeDescription:
    """Return a type with what rows give of it."""
    given: dict[str, Any] = {
        name: value for name in TYPE_NUMBERS if (value := _agreed(rows, name)) is not None
    }
    speeds_are = _agreed(rows, "speeds_are")
    given |= {} if speeds_are is None else {"speeds_are": speeds_are}
    stall = given.get("stall_speed_clean_kt")
    speed_open = speed_is_supposed(kind.note) and "scaling_speed_kt" not in given
    if speed_open and stall is not None:
        given["scaling_speed_kt"], speed_open = stall, False
    note = note_of(
        weight=weight_is_supposed(kind.note) and "reference_weight_kg" not in given,
        speed=speed_open,
        rest=rest_of_note(kind.note),
    )
    return replace(kind, **given, note=note)


def _propellers(
    rows: Sequence[SheetRow], fits: Sequence[FitDescription], known: FleetDescription
) -> tuple[PropellerDescription, ...]:
    there = {one.name: one for one in known.propellers}
    found = []
    for name in dict.fromkeys(fit.propeller for fit in fits):
        own = [row for row in rows if row.texts.get("propeller") == name]
        pitch = _agreed(own, "pitch")
        one = there.get(name, PropellerDescription(name))
        found.append(one if pitch is None else replace(one, pitch=pitch))
    return tuple(found)


def _supposed(
    description: FleetDescription, by_tag: Mapping[str, Sequence[SheetRow]]
) -> tuple[str, ...]:
    """Say what nobody stated, and what was taken in its place."""
    airframes = description.airframes
    slow = [_called(kind, airframes) for kind in description.types if speed_is_supposed(kind.note)]
    light = [
        (_called(kind, airframes), kind.reference_weight_kg)
        for kind in description.types
        if weight_is_supposed(kind.note)
    ]
    undated = [tag for tag, rows in by_tag.items() if any(row.from_date is None for row in rows)]
    lonely, unpaired = (_lacking(airframes, parts) for parts in (_SHARED, _PAIRED))
    sentences = (
        (slow, f"no stall speed, so {SUPPOSED_SCALING_KT:g} kt is taken; {_SCALES}"),
        ([name for name, _ in light], f"no weight, so {_weights(light)} is the reference weight."),
        *((tags, f"no {what}: no curve with other airframes yet.") for what, tags in lonely),
        *((tags, f"no {what}: in no pairing with others yet.") for what, tags in unpaired),
        (undated, "no day, so what they carry holds from the start."),
    )
    return tuple(f"{_tags(names)}: {sentence}" for names, sentence in sentences if names)


def _called(kind: TypeDescription, airframes: Sequence[AirframeDescription]) -> str:
    """Return the name of a type, the tag of its airframe where it has none."""
    if not is_undescribed(kind.name):
        return kind.name
    return next((one.tag for one in airframes if one.type == kind.name), kind.name)


def _weights(light: Sequence[tuple[str, float]]) -> str:
    return ", ".join(dict.fromkeys(f"{weight:g} kg" for _, weight in light))


def _lacking(
    airframes: Sequence[AirframeDescription], parts: Sequence[str]
) -> list[tuple[str, list[str]]]:
    """Return what is not described, in words, with the tags of the airframes that lack it."""
    found: dict[str, list[str]] = {}
    for airframe in airframes:
        missing = [part.replace("_", " ") for part in parts if _lacks(airframe, part)]
        if missing:
            found.setdefault(" and no ".join(missing), []).append(airframe.tag)
    return list(found.items())


def _lacks(airframe: AirframeDescription, part: str) -> bool:
    if part == "type":
        return is_undescribed(airframe.type)
    return any(is_undescribed(getattr(fit, part)) for fit in airframe.fits)


def _tags(tags: Sequence[str]) -> str:
    shown = ", ".join(tags[:4])
    return f"{shown} and {len(tags) - 4} more" if len(tags) > 4 else shown
