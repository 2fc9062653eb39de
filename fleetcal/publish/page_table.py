"""The table of the published page."""

from __future__ import annotations

import html

from fleetcal.publish.plain_text import decimal, one_line, signed
from fleetcal.publish.pooled_table import PooledTable, TableRow

_COLUMNS = (
    ("IAS", "kt"),
    ("Correc\u00adtion", "kt"),
    ("CAS", "kt"),
    ("Group's mean", "95\u00a0% band, kt"),
    ("Next air\u00adcraft", "95\u00a0% band, kt"),
    ("Alti\u00admeter correc\u00adtion", "ft"),
    ("Air\u00adcraft", ""),
)


def table_element(table: PooledTable) -> str:
    """Return the section with the table.

    Parameters
    ----------
    table : PooledTable

    Returns
    -------
    str
        HTML with caption and scoped headings; a row without values says why.
    """
    headings = "\n".join(_heading(name, unit) for name, unit in _COLUMNS)
    whole = all(row.ias_kt.is_integer() for row in table.rows)
    rows = "\n".join(_row(row, 0 if whole else 1) for row in table.rows)
    return (
        '<section aria-labelledby="corrections">\n'
        '<h2 id="corrections">Corrections</h2>\n'
        '<div class="across" role="region" aria-labelledby="corrections" tabindex="0">\n'
        "<table>\n"
        "<caption>Add the correction to the reading: "
        f"CAS = IAS + correction. {_altitude(table)}</caption>\n"
        f"<thead>\n<tr>\n{headings}\n</tr>\n</thead>\n"
        f"<tbody>\n{rows}\n</tbody>\n"
        "</table>\n</div>\n"
        f"{_reading_help()}\n"
        "</section>"
    )


def _altitude(table: PooledTable) -> str:
    return html.escape(one_line(table.altitude_statement))


def _heading(name: str, unit: str) -> str:
    words = html.escape(name, quote=False)
    return (
        f'<th scope="col">{words}'
        + (f' <span class="unit">{unit}</span>' if unit else "")
        + "</th>"
    )


def _row(row: TableRow, ias_places: int) -> str:
    cells = [f'<th scope="row">{decimal(row.ias_kt, ias_places)}</th>']
    if row.correction_kt is None or row.cas_kt is None:
        reason = html.escape(one_line(row.note))
        cells.append(f'<td class="reason" colspan="{len(_COLUMNS) - 1}">{reason}</td>')
        return "<tr>" + "".join(cells) + "</tr>"
    cells += [
        f'<td class="correction">{signed(row.correction_kt)}</td>',
        f"<td>{decimal(row.cas_kt)}</td>",
        _band(row.mean_low_kt, row.mean_high_kt),
        _band(row.next_low_kt, row.next_high_kt),
        f"<td>{_altitude_correction(row)}</td>",
        f"<td>{row.airframes}</td>",
    ]
    text = "<tr>" + "".join(cells) + "</tr>"
    if row.note.strip():
        note = html.escape(one_line(row.note))
        text += f'\n<tr><td></td><td class="reason" colspan="{len(_COLUMNS) - 1}">{note}</td></tr>'
    return text


def _band(low: float | None, high: float | None) -> str:
    if low is None or high is None:
        return "<td></td>"
    return (
        f'<td class="band"><span class="end">{signed(low)}</span> <span class="to">to</span> '
        f'<span class="end">{signed(high)}</span></td>'
    )


def _altitude_correction(row: TableRow) -> str:
    value = row.altitude_correction_ft
    return "not given" if value is None else signed(value, 0)


def _reading_help() -> str:
    return (
        "<p>The <strong>group's mean</strong> band says how well the curve itself is known: with "
        "95 % confidence the mean of all such aircraft lies in it. The "
        "<strong>next aircraft</strong> band is the wider one that matters for a single aircraft: "
        "one more of this group should lie in it with 95 % probability. "
        "The last column counts the aircraft whose points reach that speed.</p>"
    )
