"""The table of the published page."""

from __future__ import annotations

import html
from typing import Final

from fleetcal.publish.markup import escaped
from fleetcal.publish.plain_text import signed
from fleetcal.publish.pooled_table import PooledTable
from fleetcal.publish.table_form import TableForm
from fleetcal.publish.table_lines import Band, TableLine, first_beyond, given_places, table_lines
from fleetcal.publish.table_words import (
    LAST_COLUMN_HELP,
    MEAN_BAND,
    READING_HELP,
    band_ends,
    bound_words,
    column_words,
    flown_words,
    relation_words,
)
from fleetcal.wording import decimal

#: A column that a telephone does not show where the table is for two weights.
_GIVES_WAY: Final = "gives-way"


def table_element(table: PooledTable) -> str:
    """Return the section with the table.

    Returns:
        HTML with caption and scoped headings; a row without values says why.
    """
    headings = "\n".join(
        _heading(name, unit, _GIVES_WAY if name == MEAN_BAND and table.light_weight_kg else "")
        for name, unit in column_words(table)
    )
    lines = table_lines(table)
    places = given_places(lines)
    shown = [_row(line, table, places) for line in lines]
    if (place := first_beyond(lines)) < len(lines):
        shown.insert(place, _bound_row(table))
    rows = "\n".join(shown)
    return (
        '<section aria-labelledby="corrections">\n'
        '<h2 id="corrections">Corrections</h2>\n'
        '<div class="across" role="region" aria-labelledby="corrections" tabindex="0">\n'
        "<table>\n"
        f"<caption>{relation_words(table.form)} {_altitude(table)}</caption>\n"
        f"<thead>\n<tr>\n{headings}\n</tr>\n</thead>\n"
        f"<tbody>\n{rows}\n</tbody>\n"
        "</table>\n</div>\n"
        f"{_reading_help()}\n"
        "</section>"
    )


def _bound_row(table: PooledTable) -> str:
    others = len(column_words(table)) - 1
    words = escaped(bound_words(table))
    return f'<tr class="bound"><td></td><td class="reason" colspan="{others}">{words}</td></tr>'


def _altitude(table: PooledTable) -> str:
    return escaped(table.altitude_statement)


def _heading(name: str, unit: str, kind: str = "") -> str:
    words = html.escape(name, quote=False)
    mark = f' class="{kind}"' if kind else ""
    return (
        f'<th scope="col"{mark}>{words}'
        + (f' <span class="unit">{unit}</span>' if unit else "")
        + "</th>"
    )


def _row(line: TableLine, table: PooledTable, places: int) -> str:
    form, others = table.form, len(column_words(table)) - 1
    cells = [f'<th scope="row">{decimal(line.given, places)}</th>']
    if line.correction is None or line.answer is None:
        reason = escaped(line.note)
        cells.append(f'<td class="reason" colspan="{others}">{reason}</td>')
        return "<tr>" + "".join(cells) + "</tr>"
    cells += [
        f'<td class="correction">{signed(line.correction)}</td>',
        f"<td>{decimal(line.answer)}</td>",
        *_light(line, table),
        _band(line.mean, form, _GIVES_WAY if table.light_weight_kg else ""),
        _band(line.following, form),
        f"<td>{_altitude_correction(line)}</td>",
        f"<td>{flown_words(line)}</td>",
    ]
    text = "<tr>" + "".join(cells) + "</tr>"
    if line.note.strip():
        note = escaped(line.note)
        text += f'\n<tr><td></td><td class="reason" colspan="{others}">{note}</td></tr>'
    return text


def _light(line: TableLine, table: PooledTable) -> list[str]:
    if table.light_weight_kg is None:
        return []
    return [f"<td>{'' if line.light is None else decimal(line.light)}</td>"]


def _band(band: Band | None, form: TableForm, kind: str = "") -> str:
    ends, mark = band_ends(band, form), f" {kind}" if kind else ""
    if not ends:
        return f'<td class="band{mark}"></td>'
    return (
        f'<td class="band{mark}"><span class="end">{ends[0]}</span> <span class="to">to</span> '
        f'<span class="end">{ends[1]}</span></td>'
    )


def _altitude_correction(line: TableLine) -> str:
    value = line.altitude_correction_ft
    return "not given" if value is None else signed(value, 0)


def _reading_help() -> str:
    bands = " ".join(f"The <strong>{name}</strong> {rest}" for name, rest in READING_HELP)
    return f"<p>{bands} {LAST_COLUMN_HELP}</p>"
