"""The answer of an airframe's own curve, in sentences that a pilot reads without a manual."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from fleetcal.publish.table_form import TableForm
from fleetcal.publish.table_row import TableRow
from fleetcal.wording import decimal

#: Lines of a table that get a sentence: a slow, a middle and a fast one.
_SHOWN: Final = 3


def own_answers(
    tag: str, rows: Sequence[TableRow], weight_kg: float, form: TableForm | None = None
) -> tuple[str, ...]:
    """Say what an airframe's indicator does when slow, in the middle and when fast.

    Args:
        rows: Of its own curve; those that it has flown are preferred.
        form: In whose unit the speeds are told; knots when left out.
    """
    known = [row for row in rows if row.correction_kt is not None]
    flown = [row for row in known if not row.note] or known
    if not flown:
        return (f"Nothing is known of {tag} at these speeds.",)
    last = len(flown) - 1
    places = sorted({0, last // 2, last}) if last >= _SHOWN - 1 else range(len(flown))
    first, *others = (
        _sentence(row, form or TableForm()) for row in (flown[place] for place in places)
    )
    return (
        f"At {decimal(weight_kg, 0)} kg {tag} reads {first}",
        *(f"It reads {o}" for o in others),
    )


def _sentence(row: TableRow, form: TableForm) -> str:
    assert row.correction_kt is not None
    assert row.cas_kt is not None
    assert row.mean_low_kt is not None
    assert row.mean_high_kt is not None
    ends = sorted((-form.printed(row.mean_low_kt), -form.printed(row.mean_high_kt)))
    cas, at = decimal(form.printed(row.cas_kt)), decimal(form.printed(row.given_kt), 0)
    unit = form.speed_unit
    if ends[0] <= 0.0 <= ends[1]:
        most = decimal(max(abs(end) for end in ends))
        return f"right within {most} {unit} at {at} {unit}: {cas} {unit} calibrated."
    low, high = sorted(map(abs, ends))
    way = "fast" if row.correction_kt < 0.0 else "slow"
    return (
        f"{decimal(abs(form.printed(row.correction_kt)))} {unit} too {way} "
        f"({decimal(low)} to {decimal(high)}) at {at} {unit}: {cas} {unit} calibrated."
    )
