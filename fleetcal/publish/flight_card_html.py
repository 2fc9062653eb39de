"""The test card as one HTML document that prints on one page."""

from __future__ import annotations

from typing import Final

from fleetcal.publish.cautions import CAUTIONS
from fleetcal.publish.flight_card import (
    BEFORE_BOXES,
    HOLD,
    LEG_BOXES,
    MOST_RUNS,
    REPEAT,
    RUN_BOXES,
    SPARE_ROWS,
    STOP,
    CardRun,
    FlightCard,
    heading_words,
    limit_words,
    sentence,
    set_words,
)
from fleetcal.publish.markup import escaped
from fleetcal.wording import counted

#: Height of the rows for so many runs, mm: fills the page of a letter and no more.
_ROWS: Final = {1: 9.5, 2: 9.5, 3: 9.5, 4: 7.6, 5: 6.2, 6: 5.4}
_STYLE: Final = """\
@page { size: PAPER; margin: 9mm; }
* { box-sizing: border-box; }
body { font: 9.5pt/1.25 sans-serif; color: #000; background: #fff; margin: 0 auto;
  max-width: 192mm; padding: 0; }
header { display: flex; justify-content: space-between; align-items: baseline; gap: 6mm; }
h1 { font-size: 26pt; line-height: 1; margin: 0; }
header p { margin: 0; text-align: right; }
header strong { font-size: 14pt; }
.fill, .set { display: flex; margin-top: 2mm; }
.fill span { flex: 1; border: 0.5pt solid #000; height: 9.5mm; padding: 0.5mm 1mm;
  font-size: 7.5pt; margin-left: -0.5pt; }
.set { border: 1.4pt solid #000; padding: 1mm; }
.set div { flex: 1 1 auto; padding: 0 1mm; font-size: 8pt; }
.set b { display: block; font-size: 14pt; line-height: 1.1; }
p { margin: 1mm 0; }
table { border-collapse: collapse; width: 100%; table-layout: fixed; }
th { font-size: 8.5pt; text-align: left; padding: 0 0.7mm; vertical-align: top; }
th small { display: block; font-weight: normal; font-size: 7pt; }
thead th { border: 0; }
tbody { border: 1.4pt solid #000; }
td, tbody th { border: 0.5pt solid #000; height: ROWmm; padding: 0 1mm; }
tbody th { border-right: 1.4pt solid #000; padding: 0.5mm 1mm; vertical-align: middle; }
tbody th b { font-size: RUNpt; line-height: 1; }
tbody th span { display: block; font-size: 9pt; font-weight: normal; line-height: 1.1; }
tbody th span.calm { font-weight: bold; }
td.heading { font-size: HEADpt; font-weight: bold; line-height: 1; }
td.expect { font-size: 9.5pt; padding: 0 0.4mm; white-space: nowrap; }
td.whole { border-left: 1.4pt solid #000; }
dl { display: grid; grid-template-columns: 17mm 1fr; margin: 1.5mm 0; }
dt { font-weight: bold; } dd { margin: 0; }
.limits { font-weight: bold; }
.small { font-size: 7pt; line-height: 1.15; }
@media screen { body { padding: 6mm; } }
@media print { body { max-width: none; } }
"""
_RUN_SIZES: Final = {4: 28, 5: 23, 6: 18}
_PAPERS: Final = {"a4": "A4", "letter": "letter"}


def flight_card_html(card: FlightCard, paper: str = "a4") -> str:
    """Return the test card as HTML.

    Args:
        paper: ``a4`` or ``letter``.

    Returns:
        A whole document that loads nothing from outside.
    """
    count = len(card.runs)
    style = (
        _STYLE.replace("PAPER", _PAPERS[paper])
        .replace("ROW", f"{_ROWS[count]}")
        .replace("HEAD", "15" if count < MOST_RUNS else "12")
        .replace("RUN", f"{_RUN_SIZES.get(count, 28)}")
    )
    title = escaped(card.airframe)
    told = "".join(f"<p class=small>{escaped(sentence(note))}</p>\n" for note in card.notes)
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>Test card: {title}</title>\n<style>\n{style}</style>\n</head>\n<body>\n"
        f"<header><h1>{title}</h1><p><strong>{counted(count, 'run')}, "
        f"about {card.minutes} min</strong><br>"
        f"{escaped(card.type_name)}, {escaped(card.group)}</p></header>\n"
        f"{_before(card)}{_table(card)}"
        f"<dl><dt>HOLD</dt><dd>{escaped(HOLD)}</dd><dt>REPEAT</dt><dd>{escaped(REPEAT)}</dd>"
        f"<dt>STOP</dt><dd>{escaped(STOP)}</dd></dl>\n"
        f"<p class=limits>{escaped(limit_words(card))}</p>\n"
        f"<p class=small>{escaped(card.purpose)}</p>\n{told}"
        f"<p class=small>{escaped(' '.join(CAUTIONS))}</p>\n</body>\n</html>\n"
    )


def _before(card: FlightCard) -> str:
    boxes = "".join(f"<span>{name}</span>" for name in BEFORE_BOXES)
    figures = "".join(
        f"<div>{name}<b>{escaped(figure)}</b></div>" for name, figure in set_words(card)
    )
    return (
        f"<div class=fill>{boxes}</div>\n<div class=set>{figures}</div>\n"
        f"<p>{escaped(heading_words(card))}</p>\n"
    )


def _table(card: FlightCard) -> str:
    boxes = "".join(
        f"<th>{name}<small>{unit}</small></th>" for name, unit in (*LEG_BOXES, *RUN_BOXES)
    )
    bodies = "".join(_run(run, number) for number, run in enumerate(card.runs, 1))
    return (
        '<table>\n<colgroup><col style="width:17%"><col style="width:8.5%">'
        '<col style="width:11.5%"></colgroup>\n'
        "<thead><tr><th>IAS to hold</th><th>heading</th><th>expect<small>trk / GS</small></th>"
        f"{boxes}</tr></thead>\n{bodies}{_spare()}</table>\n"
    )


def _run(run: CardRun, number: int) -> str:
    count = len(run.legs)
    foot = "<span class=calm>smooth air only</span>" if run.smooth_air_only else ""
    lines = []
    for place, leg in enumerate(run.legs):
        first = last = ""
        if place == 0:
            first = (
                f"<th rowspan={count}><span>run {number}, helps no. {run.helps}</span>"
                f"<b>{run.ias_kt}</b> kt{foot}</th>"
            )
            last = f"<td class=whole rowspan={count}></td>" * len(RUN_BOXES)
        lines.append(
            f"<tr>{first}<td class=heading>{leg.heading_deg:03d}</td>"
            f"<td class=expect>{leg.track_deg:03d} / {leg.ground_speed_kt}</td>"
            f"{'<td></td>' * len(LEG_BOXES)}{last}</tr>\n"
        )
    return f"<tbody>\n{''.join(lines)}</tbody>\n"


def _spare() -> str:
    """Return empty rows for legs that are flown again."""
    cells = "<td></td>" * (2 + len(LEG_BOXES) + len(RUN_BOXES))
    first = f"<th rowspan={SPARE_ROWS}><span>spare rows</span><span>run, heading:</span></th>"
    rows = [f"<tr>{first if place == 0 else ''}{cells}</tr>\n" for place in range(SPARE_ROWS)]
    return f"<tbody>\n{''.join(rows)}</tbody>\n"
