"""What the bands and the lines of a table mean: of a group, or of one airframe."""

from __future__ import annotations

from typing import Final

from fleetcal.plain_text import one_line
from fleetcal.publish.cautions import CAUTIONS, GROUP_CAUTION
from fleetcal.publish.pooled_table import PooledTable

#: What stands in the lines of one airframe's table.
ITS_OWN: Final = "its own"
ITS_GROUP: Final = "its group"

_GROUP_BANDS: Final = (
    (
        "group's mean",
        "band says how well the curve itself is known: with 95 % confidence the mean "
        "of all such aircraft lies in it.",
    ),
    (
        "band for another aircraft of the group",
        "is the wider one that matters for a single aircraft: one more of this group should lie "
        "in it with 95 % probability.",
    ),
)
_FLOWN_BY: Final = "the aircraft whose indicator really showed that speed, at the weight they flew."
_THREE_REACH: Final = (
    "A line has values where points of three aircraft, brought to the weight of the table, reach "
    f"its speed; 'Flown by' counts {_FLOWN_BY}"
)
_FEW_REACH: Final = (
    "A line has values where points, brought to the weight of the table, reach its speed, and says "
    f"so where those are of fewer than three aircraft; 'Flown by' counts {_FLOWN_BY}"
)


def subject_words(table: PooledTable) -> str:
    """Return what a table is, above its title."""
    if table.airframe is None:
        return "Position correction of airspeed and altimeter, pooled over a group of aircraft"
    return "Position correction of airspeed and altimeter of one aircraft"


def band_meanings(table: PooledTable) -> tuple[tuple[str, str], ...]:
    """Return what each band means, as names and the rest of the sentence."""
    if table.airframe is None:
        return _GROUP_BANDS
    what = "IAS that shows the CAS" if table.form.from_cas else "correction"
    tag = one_line(table.airframe.tag)
    return (("band of this aircraft", f"holds the {what} of {tag} with 95 % probability."),)


def lines_help(table: PooledTable) -> str:
    """Return which lines have values, and what they rest on."""
    if table.airframe is None:
        return _FEW_REACH if _noted(table) else _THREE_REACH
    if not _noted(table):
        return f"Every line rests on flights of {one_line(table.airframe.tag)} itself."
    tag = one_line(table.airframe.tag)
    if table.point_count == 0:
        return f"{tag} has flown none of it: a line says what one more aircraft of its group shows."
    return (
        f"{tag} has flown the speeds of the lines that rest on '{ITS_OWN}' flights. It has not "
        f"flown those that rest on '{ITS_GROUP}': they say what other aircraft show there, moved "
        f"by as much as {tag} differs from them at the speeds that it has flown."
    )


def from_group(table: PooledTable) -> bool:
    """Tell whether lines of an airframe's table are from its group."""
    return table.airframe is not None and _noted(table)


def _noted(table: PooledTable) -> bool:
    rows = table.readings if table.form.from_cas else table.rows
    return any(row.note and not row.is_empty for row in rows)


def cautions_of(table: PooledTable) -> tuple[str, ...]:
    """Return the cautions of a table."""
    if table.airframe is None:
        return CAUTIONS
    own = own_caution(table)
    return tuple(own if sentence == GROUP_CAUTION else sentence for sentence in CAUTIONS)


def own_caution(table: PooledTable) -> str:
    """Return the caution for one aircraft; nothing for a group."""
    if table.airframe is None:
        return ""
    return one_line(
        f"It describes {table.airframe.tag} alone, as it was when it was flown: a leak, a "
        "blockage, other work on its static system or another indicator makes it wrong."
    )
