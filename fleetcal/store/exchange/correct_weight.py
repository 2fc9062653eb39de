"""Correct the weight of a stored flight: its points keep their errors, and go to another lift.

A pressure error is measured without the weight; the weight tells at which lift it was. Points
of a turn carry its load factor in their weight, so all go by the same ratio.
"""

from __future__ import annotations

import json
from typing import Any, Final

from sqlalchemy import select
from sqlalchemy.orm import Session

from fleetcal.errors import DataError, UnknownNameError
from fleetcal.store.exchange.collect_flown import collect_flown
from fleetcal.store.exchange.keep_replaced import keep_replaced
from fleetcal.store.listed import WEIGHT_SUPPOSED, WeightCorrected
from fleetcal.store.models import (
    AircraftType,
    Airframe,
    CalibrationPoint,
    ClimbMeasurement,
    Sortie,
    SourceFile,
)

_WHY: Final = "the weight of the flight was corrected"


def correct_weight(session: Session, sortie_id: int, weight_kg: float) -> WeightCorrected:
    """Give a stored flight the weight that it was flown at.

    Args:
        session: Of a writing transaction.

    Raises:
        UnknownNameError: If there is no such sortie.
        DataError: If its runs got their weights from a take-off weight.
    """
    sortie = session.get(Sortie, sortie_id)
    if sortie is None:
        raise UnknownNameError(
            f"there is no sortie {sortie_id} in the store",
            "'reduce' of its log names it, and so does 'fleetcal points list --format csv'",
        )
    return _give(session, sortie, weight_kg, supposed=False)


def supposed_weights_follow(session: Session) -> int:
    """Give every flight whose weight was supposed the reference weight of its type as it is now.

    Args:
        session: Of a writing transaction.

    Returns:
        How many flights got another weight.
    """
    query = (
        select(Sortie, AircraftType.reference_weight_kg)
        .join(Airframe, Airframe.id == Sortie.airframe_id)
        .join(AircraftType, AircraftType.id == Airframe.aircraft_type_id)
        .where(Sortie.settings_json.contains(f'"{WEIGHT_SUPPOSED}": true'))
    )
    changed = 0
    for sortie, reference_kg in session.execute(query).all():
        if sortie.weight_kg != reference_kg:
            _give(session, sortie, reference_kg, supposed=True)
            changed += 1
    return changed


def _give(session: Session, sortie: Sortie, weight_kg: float, *, supposed: bool) -> WeightCorrected:
    airframe = session.get(Airframe, sortie.airframe_id)
    source = session.get(SourceFile, sortie.source_file_id)
    assert airframe is not None  # a sortie refers to both
    assert source is not None
    document = _document(sortie)
    if "weight" in document:
        raise DataError(
            f"the weights of sortie {sortie.id} follow from its take-off weight",
            f"'fleetcal reduce {source.name} --again --sortie {sortie.id} "
            "--takeoff-weight-kg KG --replace' gives it another",
        )
    before = {one.name: one for one in collect_flown(session, (), {source.sha256})}
    before_kg = sortie.weight_kg
    points = session.scalars(
        select(CalibrationPoint).where(CalibrationPoint.sortie_id == sortie.id)
    ).all()
    for point in points:
        point.weight_kg *= weight_kg / before_kg
    sortie.weight_kg = weight_kg
    if not supposed and document.pop(WEIGHT_SUPPOSED, None) is not None:
        sortie.settings_json = json.dumps(document, sort_keys=True)
    session.flush()
    after = {one.name: one for one in collect_flown(session, (), {source.sha256})}
    keep_replaced(session, before, after, _WHY)
    climbs = session.scalars(
        select(ClimbMeasurement.id).where(ClimbMeasurement.sortie_id == sortie.id)
    ).all()
    return WeightCorrected(
        sortie_id=sortie.id,
        airframe=airframe.tag,
        file=source.name,
        flown_on=sortie.flown_on,
        before_kg=before_kg,
        now_kg=weight_kg,
        points=len(points),
        climbs=len(climbs),
    )


def _document(sortie: Sortie) -> dict[str, Any]:
    try:
        document = json.loads(sortie.settings_json)
    except ValueError:
        return {}
    return document if isinstance(document, dict) else {}
