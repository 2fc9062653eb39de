"""Points that no fit can use are barred at every reading and in every count, and named."""

from __future__ import annotations

import itertools

import pytest

from fleetcal.records import why_unfit
from fleetcal.store import PointFilter, Store, save_description, select_points
from fleetcal.store.group_counts import count_groups
from fleetcal.store.models import CalibrationPoint
from tests.store.invented_rows import FLEET, fly, points

pytestmark = pytest.mark.long

ODD = (
    *(("kappa", value) for value in (-0.99, -0.6, 0.0, 1.5, 1.6, 1e300)),
    *(("u_kappa", value) for value in (1e-320, 9e-6, 1e-5, 1.0, 1.1, 1e308)),
    *(("vic_kt", value) for value in (1e-300, 9.0, 10.0, 100.0, 590.0, 600.0, 1e308)),
    *(("weight_kg", value) for value in (1e-300, 1.0, 58.0, 600.0, 5800.0, 1e308)),
)


def test_the_database_and_the_words_agree_on_which_points_no_fit_can_use(store: Store) -> None:
    pairs = [*((one,) for one in ODD), *itertools.combinations(ODD, 2)]
    changes = [dict(pair) for pair in pairs]
    with store.writing() as session:
        save_description(session, FLEET)
        fly(session, gave=points(len(changes)))
        rows = session.query(CalibrationPoint).order_by(CalibrationPoint.number).all()
        for row, change in zip(rows, changes, strict=True):
            for name, value in change.items():
                setattr(row, name, value)
    with store.reading() as session:
        found = select_points(session, PointFilter())
        counted = count_groups(session)
        reference = FLEET.types[0].reference_weight_kg
    assert len(found) == len(changes)
    for point in found:
        why = why_unfit(
            kappa=point.kappa,
            u_kappa=point.u_kappa,
            vic_kt=point.vic_kt,
            weight_kg=point.weight_kg,
            reference_kg=reference,
        )
        assert bool(point.barred) == bool(why)
        assert point.barred.endswith(why)
    barred = [point for point in found if point.barred]
    assert 50 < len(barred) < len(found) - 20
    assert barred[0].barred.startswith(
        f"point {barred[0].point_id} of sortie {barred[0].sortie_id} cannot be used by any fit: "
    )
    members = [one for group in counted.values() for one in group.values()]
    assert sum(one.barred for one in members) == len(barred)
    assert sum(one.points for one in members) == len(found) - len(barred)
