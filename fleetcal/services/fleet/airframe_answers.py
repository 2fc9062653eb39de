"""What somebody answered about one airframe, turned into a description of it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date

from fleetcal.errors import DataError, MalformedFileError
from fleetcal.services.fleet.not_described import (
    is_undescribed,
    note_of,
    rest_of_note,
    speed_is_supposed,
    supposed_type,
    undescribed_airframe,
    weight_is_supposed,
)
from fleetcal.store import (
    AirframeDescription,
    FitDescription,
    FleetDescription,
    PropellerDescription,
    StaticSourceDescription,
    TypeDescription,
)


@dataclass(frozen=True, kw_only=True)
class AirframeAnswers:
    """What is known of an airframe; empty or None where nobody answered.

    Attributes:
        since: First day of the static source, engine and propeller. Without it they are those of
            the newest fit.
        stall_kt: Stall speed of the type, flaps up, kt.
        weight_kg: Reference weight of the type, such as its usual take-off weight.
    """

    tag: str
    type: str = ""
    static_source: str = ""
    engine: str = ""
    propeller: str = ""
    pitot: str = ""
    since: date | None = None
    stall_kt: float | None = None
    weight_kg: float | None = None
    registration: str = ""
    note: str = ""

    def __post_init__(self) -> None:
        """Refuse what cannot be printed in a line."""
        for name in ("type", "static_source", "engine", "propeller", "pitot", "registration"):
            text = getattr(self, name)
            if not text.isprintable() or text != text.strip():
                raise MalformedFileError(
                    f"{name.replace('_', ' ')} {text!r} is not a name",
                    "write words on one line, without blanks at the ends",
                )


def description_of(known: FleetDescription, answers: AirframeAnswers) -> FleetDescription:
    """Return what the answers say, on top of what is known, as a description to save.

    Args:
        known: All that the store knows.

    Raises:
        DataError: If a weight or stall speed would change under other airframes of the type.
    """
    own = next((one for one in known.airframes if one.tag == answers.tag), None)
    base = undescribed_airframe(answers.tag, answers.weight_kg)
    if own is None:
        (own,) = base.airframes
        known = replace(known, types=(*known.types, *base.types))
    fit = _fit(own, answers)
    kind = _type(known, own, answers)
    ports = {one.name: one for one in kind.static_sources}
    ports.setdefault(fit.static_source, StaticSourceDescription(fit.static_source))
    propellers = {one.name: one for one in known.propellers}
    return FleetDescription(
        types=(replace(kind, static_sources=tuple(ports.values())),),
        engines=(fit.engine,),
        propellers=(propellers.get(fit.propeller, PropellerDescription(fit.propeller)),),
        airframes=(
            replace(
                own,
                type=kind.name,
                registration=answers.registration or own.registration,
                note=answers.note or own.note,
                fits=(fit,),
            ),
        ),
    )


def _fit(own: AirframeDescription, answers: AirframeAnswers) -> FitDescription:
    """Return the fit that the answers are about: the newest, or the one of a day."""
    fits = sorted(own.fits, key=lambda fit: fit.from_date)
    ((nothing,),) = (one.fits for one in undescribed_airframe(own.tag).airframes)
    if answers.since is not None:
        begun = [fit for fit in fits if fit.from_date <= answers.since]
        before = begun[-1] if begun else nothing
        start = replace(before, from_date=answers.since)
        if before.from_date != answers.since:
            start = replace(start, note="")
    else:
        start = fits[-1] if fits else nothing
    given = {
        name: getattr(answers, name)
        for name in ("static_source", "engine", "propeller", "pitot")
        if getattr(answers, name)
    }
    return replace(start, **given)


def _type(
    known: FleetDescription, own: AirframeDescription, answers: AirframeAnswers
) -> TypeDescription:
    """Return the type of the airframe, as it is from now on."""
    name = answers.type or own.type
    types = {one.name: one for one in known.types}
    former = types[own.type]
    kind = types.get(name)
    if kind is None and is_undescribed(own.type):
        kind = replace(former, name=name, static_sources=())
    elif kind is None:
        kind = supposed_type(name)
    others = [one.tag for one in known.airframes if one.type == name and one.tag != own.tag]
    weight_open = weight_is_supposed(kind.note)
    speed_open = speed_is_supposed(kind.note)
    if answers.weight_kg is not None and answers.weight_kg != kind.reference_weight_kg:
        if others and not weight_open:
            raise _shared(kind, f"reference weight is {kind.reference_weight_kg:g} kg", others)
        kind = replace(kind, reference_weight_kg=answers.weight_kg)
    stall = answers.stall_kt
    if stall is not None and stall != kind.stall_speed_clean_kt:
        if others and kind.stall_speed_clean_kt is not None:
            raise _shared(kind, f"stall speed is {kind.stall_speed_clean_kt:g} kt", others)
        scaling = stall if speed_open else kind.scaling_speed_kt
        kind = replace(kind, stall_speed_clean_kt=stall, scaling_speed_kt=scaling)
    note = note_of(
        weight=weight_open and answers.weight_kg is None,
        speed=speed_open and stall is None,
        rest=rest_of_note(kind.note),
    )
    return replace(kind, note=note)


def _shared(kind: TypeDescription, what: str, others: list[str]) -> DataError:
    return DataError(
        f"{kind.name}: its {what}, for {', '.join(others[:3])}"
        f"{' and others' if len(others) > 3 else ''} too",
        "leave it out; to change it for all of them, give a fleet file to 'fleetcal fleet load'",
    )
