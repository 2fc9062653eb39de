"""How the own curve of an airframe is printed."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from fleetcal.cli.output import ALWAYS, Column, View
from fleetcal.cli.views import model_line, row_notes

if TYPE_CHECKING:
    from fleetcal.services.curves.pooled_curve import PooledCurve


def _head(curve: PooledCurve) -> Iterator[str]:
    yield from (f"{sentence}." for sentence in curve.rests_on)
    from fleetcal.services.fleet.not_described import is_undescribed

    names = (curve.type, curve.static_source, curve.engine, curve.propeller)
    known = [name for name in names if name and not is_undescribed(name)]
    yield (
        f"{', '.join(known) or 'Equipment not described yet'}, flaps {curve.flap_setting}, IAS at "
        f"{curve.weight_kg:.0f} kg."
    )


def _foot(curve: PooledCurve) -> Iterator[str]:
    yield (
        "Add the correction to the reading; ranges are 95 % bands, and the altimeter is for "
        f"{curve.altitude_ft:.0f} ft."
    )
    yield from row_notes(curve.rows)
    if curve.light_weight_kg is not None:
        yield _lighter(curve, curve.light_weight_kg)
    yield from (f"Doubt: {sentence}." for sentence in curve.doubts)
    yield from (f"Left out: {sentence}" for sentence in curve.left_out)


def _lighter(curve: PooledCurve, weight_kg: float) -> str:
    """Say how much the correction differs at the lightest weight flown."""
    apart = [
        (abs(row.light_correction_kt - row.correction_kt), row.given_kt)
        for row in curve.rows
        if row.light_correction_kt is not None and row.correction_kt is not None
    ]
    most, at_kt = max(apart)
    return (
        f"At {weight_kg:.0f} kg, the lightest flown, it differs by up to {most:.1f} kt, at "
        f"{at_kt:.0f} kt; --weight-kg {weight_kg:.0f} prints that."
    )


def _details(curve: PooledCurve) -> Iterator[str]:
    yield from model_line(curve)
    yield from filter(None, (curve.yardstick, curve.pitot))


OWN_CURVE: View[PooledCurve] = View(
    kind="curve",
    rows="rows",
    columns=[
        Column("ias_kt", 0, heading="IAS", importance=ALWAYS),
        Column("correction_kt", 1, sign=True, heading="correction", importance=ALWAYS),
        Column(
            "mean_low_kt",
            1,
            sign=True,
            to="mean_high_kt",
            heading="this aircraft",
            importance=ALWAYS,
        ),
        Column("cas_kt", 1, heading="CAS"),
        Column("altitude_correction_ft", 0, sign=True, heading="altimeter correction"),
    ],
    answer=lambda curve: curve.answers,
    head=_head,
    foot=_foot,
    details=_details,
    cautioned=True,
    tells_of="curve",
)
