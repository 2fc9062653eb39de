"""Measure points by a technique other than GPS legs, and keep them in the store."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np

from fleetcal.airdata.budget import Term
from fleetcal.airdata.techniques.technique_point import TechniquePoint
from fleetcal.errors import DataError
from fleetcal.records import Point
from fleetcal.services.as_read import u_as_read
from fleetcal.services.bench.bench_corrections import BenchInForce, bench_in_force
from fleetcal.services.flights.air_taken import NOTHING_STATED, StatedAir
from fleetcal.services.flights.air_words import FlownAt, air_notes
from fleetcal.services.flights.settings_file import ReductionSettings, settings_document
from fleetcal.services.known_elsewhere import refuse_known_elsewhere
from fleetcal.services.known_port import KnownPort, known_port
from fleetcal.services.large_error import is_suspect
from fleetcal.services.measurements.measured_doubts import doubted_points
from fleetcal.services.measurements.measurement_columns import (
    SPEED_COURSE,
    TECHNIQUE_FILES,
    TechniqueFile,
)
from fleetcal.services.measurements.measurement_readings import (
    MeasuredFile,
    applied_kinds,
    bench_warnings,
    measured_points,
)
from fleetcal.services.plain_table import PlainTable, Tell, read_plain_table, silent
from fleetcal.services.plausible_point import HeldAgainst, doubted, require_flown
from fleetcal.services.repeated_flight import NOTHING, settle_repeat
from fleetcal.services.supposed_weight import weight_taken
from fleetcal.services.table_words import columns_named
from fleetcal.services.yardstick_words import yardstick_line
from fleetcal.store import (
    WEIGHT_SUPPOSED,
    FlownFlight,
    NewSortie,
    Store,
    Touching,
    add_sortie,
    add_source,
    find_airframe,
    find_source,
    sorties_of_source,
)
from fleetcal.units import from_si

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from fleetcal.store import SourceFile


@dataclass(frozen=True, kw_only=True)
class MeasurementDetails:
    """What the file does not say.

    Attributes:
        technique: A key of `TECHNIQUE_FILES`.
        airframe: Tag; None only for a preview.
        flown_on: None only for a preview.
        weight_kg: The type's reference weight is taken, with a warning, when None.
        repeat: What it is where the store seems to have it from another file; one of `REPEATS`.
    """

    technique: str
    airframe: str | None = None
    flown_on: date | None = None
    weight_kg: float | None = None
    flap_setting: str = "up"
    note: str = ""
    air: StatedAir = NOTHING_STATED
    repeat: str = NOTHING


@dataclass(frozen=True, kw_only=True)
class MeasuredLine(Point):
    """One point as it is listed: with the line of the file and what else its readings say.

    `u_as_read_kt` is of `dvpc_kt` as the correction of what this indicator reads,
    `u_dvpc_kt` of the port alone; `weight_kg` is NaN in a preview without one.
    """

    line: int
    remark: str
    terms: tuple[Term, ...]
    u_as_read_kt: float

    LISTED: ClassVar = (
        *("point", "line", "vic_kt", "pressure_altitude_ft", "oat_degc", "tas_kt"),
        *("kappa", "u_kappa", "dvpc_kt", "u_dvpc_kt", "dhpc_ft", "u_dhpc_ft"),
        *("degrees_of_freedom", "accepted", "reason", "remark", "terms", "u_as_read_kt"),
    )

    @property
    def point(self) -> int:
        """Its number within the file."""
        return self.number


@dataclass(frozen=True, kw_only=True)
class Measurement:
    """Result of measuring one file.

    Attributes:
        technique, airframe, source, flown_on, weight_kg, flap_setting: What was measured.
        notes: Which bench checks were applied, and what had to be supposed.
        yardstick: The results beside limits that rules have had, for information.
        known_already: The same content was in the store; nothing was added.
        air: What temperature and humidity were taken to be, as it is stored.
    """

    technique: str
    airframe: str | None
    source: str
    flown_on: date | None
    weight_kg: float | None
    flap_setting: str
    points: tuple[MeasuredLine, ...]
    warnings: tuple[str, ...]
    notes: tuple[str, ...]
    yardstick: str
    stored: bool = False
    known_already: bool = False
    sortie_id: int | None = None
    air: Mapping[str, Any] = field(default_factory=dict)


def preview_points(
    path: Path, details: MeasurementDetails, settings: ReductionSettings, tell: Tell = silent
) -> Measurement:
    """Measure a file without any store, so without bench checks.

    Args:
        tell: Called with how the file was read, if it is not written in the usual way.

    Raises:
        DataError: If the file is wrong; the message names line and column.
    """
    none = BenchInForce()
    result = _doubted(_measure(_read(path, details, tell), details, settings, none), None)
    notes = [note for note in result.notes if note not in none.notes((), settings.uncertainty)]
    return replace(result, notes=(*notes, "A preview applies no bench check."))


def measure_points(
    store: Store,
    path: Path,
    details: MeasurementDetails,
    settings: ReductionSettings,
    tell: Tell = silent,
) -> Measurement:
    """Measure a file and keep its points, all or none.

    Args:
        details: With the airframe's tag and the day.
        tell: As in `preview_points`.

    Returns:
        With `known_already` when the same content was measured before.

    Raises:
        UnknownNameError: If the airframe is not in the store.
        DataError: If the file is wrong, airframe or day are missing, nothing was fitted to the
            airframe on that day, or the content was stored for another one.
        RepeatedFlightError: If the store has the flight from another file and nobody said what it
            is.
    """
    if details.airframe is None:
        raise DataError("no airframe was named", "give its tag with --airframe")
    if details.flown_on is None:
        raise DataError("no day was given", "give it with --date YYYY-MM-DD")
    tag, flown_on = details.airframe, details.flown_on
    require_flown(flown_on, path.name)
    table = _read(path, details, tell)

    def work(session: Session) -> Measurement:
        airframe = find_airframe(session, tag)
        known = find_source(session, table.sha256)
        if known is not None:
            return _known_already(session, known, table, details)
        bench = bench_in_force(session, tag, flown_on)
        taken = weight_taken(airframe, details.weight_kg)
        weighed = replace(details, weight_kg=taken.weight_kg, air=details.air.on(airframe))
        result = _measure(table, weighed, settings, bench)
        result = replace(result, warnings=(*taken.warnings, *result.warnings))
        if any(is_suspect(point) for point in result.points):
            port = known_port(session, tag, flown_on, result.points, table.sha256)
            result = _doubted(result, port)
        new = FlownFlight(airframe=tag, flown_on=flown_on, points=result.points)
        replaced = settle_repeat(session, new, table.name, table.sha256, details.repeat)
        result = replace(result, warnings=(*result.warnings, *replaced))
        document = _document(table, settings, bench, result)
        if taken.supposed:
            document[WEIGHT_SUPPOSED] = True
        number = _keep(session, table, result, details, document)
        return replace(result, stored=True, sortie_id=number)

    return store.write(work, Touching(airframes=(tag,)))


def _doubted(result: Measurement, known: KnownPort | None) -> Measurement:
    points, doubts = doubted_points(result.points, known)
    return replace(result, points=points, warnings=(*result.warnings, *doubts))


def _read(path: Path, details: MeasurementDetails, tell: Tell) -> PlainTable:
    columns = TECHNIQUE_FILES[details.technique].columns
    table = columns_named([column.name for column in columns], point=("test point",))
    return read_plain_table(path, table, tell)


def _measure(
    table: PlainTable, details: MeasurementDetails, settings: ReductionSettings, bench: BenchInForce
) -> Measurement:
    file = TECHNIQUE_FILES[details.technique]
    kinds = applied_kinds(table, bench)
    assumptions = bench.assumptions(kinds, settings.uncertainty)
    benched = replace(settings, uncertainty=assumptions)
    found = measured_points(table, file, bench, benched, details.air)
    lines = tuple(
        _line(
            point,
            number=number,
            technique=file.technique,
            flap_setting=details.flap_setting,
            weight_kg=math.nan if details.weight_kg is None else details.weight_kg,
            line=line,
            terms=bench.noted(kinds, point.terms),
        )
        for number, (line, point) in enumerate(found.points, 1)
    )
    lines = doubted(lines, HeldAgainst(flown_on=details.flown_on))
    return Measurement(
        technique=file.technique,
        airframe=details.airframe,
        source=table.name,
        flown_on=details.flown_on,
        weight_kg=details.weight_kg,
        flap_setting=details.flap_setting,
        points=lines,
        warnings=bench_warnings(table, file, bench, kinds),
        notes=(*_air_notes(found, file, details.airframe), *bench.notes(kinds, assumptions)),
        yardstick=yardstick_line([p.vic_kt for p in lines], [p.vic_kt + p.dvpc_kt for p in lines]),
        air=found.air[0].document(),
    )


def _air_notes(found: MeasuredFile, file: TechniqueFile, airframe: str | None) -> tuple[str, ...]:
    """Say what temperature and humidity were taken to be, where kappa depends on them."""
    if file.technique != SPEED_COURSE.technique:
        return ()
    flown = [
        FlownAt(
            vic_kt=from_si(point.airspeed_mps, "kt"),
            pressure_altitude_ft=from_si(point.altitude_m, "ft"),
            oat_degc=from_si(point.temperature_k, "degC"),
            kappa=point.kappa,
            dvpc_kt=from_si(point.dvpc_mps, "kt"),
        )
        for _, point in found.points
        if point.temperature_k is not None
    ]
    return air_notes(found.air[0], flown, airframe)


def _line(point: TechniquePoint, *, terms: tuple[Term, ...], **more: Any) -> MeasuredLine:
    """Return a point as it is listed; `more` are the fields that no reading gives."""

    def converted(value: float | None, unit: str) -> float | None:
        return None if value is None else from_si(value, unit)

    limited = np.isfinite(point.degrees_of_freedom)
    return MeasuredLine(
        **more,
        vic_kt=from_si(point.airspeed_mps, "kt"),
        pressure_altitude_ft=from_si(point.altitude_m, "ft"),
        oat_degc=converted(point.temperature_k, "degC"),
        tas_kt=converted(point.true_airspeed_mps, "kt"),
        kappa=point.kappa,
        u_kappa=point.u_kappa,
        dvpc_kt=from_si(point.dvpc_mps, "kt"),
        u_dvpc_kt=from_si(point.u_dvpc_mps, "kt"),
        dhpc_ft=from_si(point.dhpc_m, "ft"),
        u_dhpc_ft=from_si(point.u_dhpc_m, "ft"),
        degrees_of_freedom=point.degrees_of_freedom if limited else None,
        accepted=not point.reason,
        reason=point.reason,
        remark=point.remark,
        terms=terms,
        u_as_read_kt=from_si(point.u_dvpc_mps, "kt") * u_as_read(terms) / point.u_kappa,
    )


def _known_already(
    session: Session, known: SourceFile, table: PlainTable, details: MeasurementDetails
) -> Measurement:
    sorties = sorties_of_source(session, known)
    refuse_known_elsewhere(table.name, sorties, details.airframe)
    sortie = sorties[0] if sorties else None
    return Measurement(
        technique=TECHNIQUE_FILES[details.technique].technique,
        airframe=details.airframe,
        source=table.name,
        flown_on=sortie.flown_on if sortie else None,
        weight_kg=sortie.weight_kg if sortie else None,
        flap_setting=details.flap_setting,
        points=(),
        warnings=(f"the same content is in the store already, as {known.name}; nothing was added",),
        notes=(),
        yardstick="",
        known_already=True,
        sortie_id=sortie.sortie_id if sortie else None,
    )


def _document(
    table: PlainTable, settings: ReductionSettings, bench: BenchInForce, result: Measurement
) -> dict[str, Any]:
    """Return what the points rest on, to be kept with the sortie."""
    kinds = applied_kinds(table, bench)
    used = replace(settings, uncertainty=bench.assumptions(kinds, settings.uncertainty))
    document = settings_document(used)
    return {
        "technique": result.technique,
        "uncertainty": document["uncertainty"],
        "probe": document["probe"],
        **result.air,
        "bench": bench.document(kinds),
        "remarks": {str(p.point): p.remark for p in result.points if p.remark},
    }


def _keep(
    session: Session,
    table: PlainTable,
    result: Measurement,
    details: MeasurementDetails,
    document: Mapping[str, Any],
) -> int:
    assert result.airframe is not None  # asked for before
    assert result.flown_on is not None
    assert result.weight_kg is not None
    sortie = NewSortie(
        airframe=result.airframe,
        flown_on=result.flown_on,
        weight_kg=result.weight_kg,
        settings_json=json.dumps(document, sort_keys=True),
        note=details.note,
    )
    source = add_source(session, table.sha256, table.name, "measurement")
    return add_sortie(session, source, sortie, (), result.points).id
