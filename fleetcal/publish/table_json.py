"""The pooled table as one JSON object, for programs."""

from __future__ import annotations

import json
from typing import Any, Final

from fleetcal.plain_text import one_line
from fleetcal.publish.band_words import cautions_of
from fleetcal.publish.cautions import CURVE_ASSUMPTION, PITOT_ASSUMPTION
from fleetcal.publish.pooled_table import PooledTable
from fleetcal.publish.table_columns import own_columns, program_columns
from fleetcal.publish.table_limit import TableLimit, printed_limit
from fleetcal.publish.table_lines import TableLine, note_of, table_lines

#: Rises when a key changes its meaning or goes.
FORMAT_VERSION: Final = 1
_DECIMALS: Final = 6
IAS_MEANS: Final = (
    "indicated airspeed at weight_kg; airframes counts those whose points, brought to that weight, "
    "reach it, flown_by those whose indicator showed it at the weight they flew"
)


def table_json(table: PooledTable) -> str:
    """Return the pooled table as JSON text.

    Returns:
        One object without NaN; keys of a row are the columns of the CSV with their units, null
        where the data do not reach. Text is on one line, otherwise as it was entered: whoever shows
        it escapes it.
    """
    pitot = [one_line(table.pitot)] if table.pitot else []
    content: dict[str, Any] = {
        "kind": "correction_table",
        "format_version": FORMAT_VERSION,
        "type": one_line(table.type_name),
        **_airframe(table),
        "static_source": one_line(table.static_source),
        "engine": _optional(table.engine),
        "propeller": _optional(table.propeller),
        "flap_setting": one_line(table.flap_setting),
        "weight_kg": table.weight_kg,
        "ias_means": IAS_MEANS,
        "light_weight_kg": table.light_weight_kg,
        "direction": table.form.direction,
        "speed_unit": table.form.speed_unit,
        "altitude_statement": one_line(table.altitude_statement),
        "limits": [_limit(table, limit) for limit in table.limits],
        "rows": [_row(table, line) for line in table_lines(table)],
        "airframes": table.airframe_count,
        "sorties": table.sortie_count,
        "points": table.point_count,
        "model": one_line(table.model),
        "without": [one_line(sentence) for sentence in table.without],
        "doubts": [one_line(sentence) for sentence in table.doubts],
        "left_out": [one_line(sentence) for sentence in table.left_out],
        "yardstick": one_line(table.yardstick),
        "issue": _issue(table),
        "made_on": table.made_on.isoformat(),
        "program_version": table.program_version,
        "caution": [PITOT_ASSUMPTION, *pitot, CURVE_ASSUMPTION, *cautions_of(table)],
    }
    return json.dumps(content, indent=2, ensure_ascii=False, allow_nan=False) + "\n"


def _optional(text: str | None) -> str | None:
    return None if text is None else one_line(text)


def _airframe(table: PooledTable) -> dict[str, Any]:
    """Return what only the table of one airframe has."""
    own = table.airframe
    if own is None:
        return {}
    return {
        "airframe": one_line(own.tag),
        "answers": [one_line(sentence) for sentence in own.answers],
        "rests_on": [one_line(sentence) for sentence in own.rests_on],
    }


def _row(table: PooledTable, line: TableLine) -> dict[str, Any]:
    own = table.airframe is not None
    columns = (*program_columns(table.form), *(own_columns(table.form) if own else ()))
    values = {column.name: column.value(line) for column in columns}
    source = None if line.answer is None else line.from_group
    return {
        **{name: v if v is None else round(v, _DECIMALS) + 0 for name, v in values.items()},
        **({"from_group": source} if own else {}),
        "note": one_line(note_of(line)),
    }


def _limit(table: PooledTable, limit: TableLimit) -> dict[str, Any]:
    return {
        "name": one_line(limit.name),
        f"not_above_ias_{table.form.unit_in_names}": float(printed_limit(limit, table.form)),
        "reasons": one_line(limit.reasons),
    }


def _issue(table: PooledTable) -> dict[str, Any] | None:
    mark = table.issue
    if mark is None:
        return None
    return {
        "number": mark.number,
        "issued_on": mark.issued_on.isoformat(),
        "inputs_sha256": mark.inputs_sha256,
        "why": one_line(mark.why),
        "withdrawn": one_line(mark.withdrawn),
        "withdrawn_on": None if mark.withdrawn_on is None else mark.withdrawn_on.isoformat(),
    }
