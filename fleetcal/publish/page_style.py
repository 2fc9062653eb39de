"""The style sheet of the published page: light, dark and on paper."""

from __future__ import annotations

from typing import Final

from fleetcal.publish.palette import DARK, LIGHT

_RULES: Final = """
*, *::before, *::after { box-sizing: border-box; }
html { -webkit-text-size-adjust: 100%; text-size-adjust: 100%; }
body {
  margin: 0; padding: 1.5rem 1rem 3rem; background: var(--paper); color: var(--ink);
  font: 1rem/1.5 system-ui, sans-serif; overflow-wrap: break-word;
}
main { max-width: 56rem; margin: 0 auto; }
h1, h2 { font-family: ui-serif, serif; line-height: 1.2; text-wrap: balance; }
h1 { font-size: clamp(1.5rem, 1.2rem + 1.6vw, 2.2rem); font-weight: 600; margin: 0; }
h2 { font-size: 1.2rem; font-weight: 600; margin: 2.5rem 0 .5rem; }
p, ul { margin: .5rem 0; max-width: 42rem; }
ul { padding-left: 1.2rem; }
.subject { color: var(--quiet); margin: 0 0 .35rem; }
.held-for { font-size: 1.05em; margin: .35rem 0 0; max-width: none; }
.cautions {
  margin: 1.5rem 0 0; padding: .8rem 1rem; background: var(--caution-paper);
  border: 1px solid var(--next-edge); border-left-width: .4rem;
}
.cautions h2 { font: inherit; font-weight: 700; margin: 0; }
.cautions p { margin: .2rem 0 0; max-width: none; }
.withdrawn {
  margin: 1rem 0 0; padding: .6rem 1rem; max-width: none; color: var(--alarm);
  border: 2px solid var(--alarm); background: var(--paper);
}
.across { overflow-x: auto; margin: .5rem 0 0; }
.across:focus-visible { outline: 2px solid var(--mean-line); outline-offset: 2px; }
table { border-collapse: collapse; width: 100%; font-variant-numeric: tabular-nums lining-nums; }
caption { text-align: left; padding: 0 0 .6rem; }
th, td { padding: .32rem .6rem; text-align: right; vertical-align: baseline; }
thead th { font-weight: 600; vertical-align: bottom; line-height: 1.25; }
thead tr:last-child th { border-bottom: 2px solid var(--ink); }
thead .unit { color: var(--quiet); font-weight: 400; display: block; }
tbody th { font-weight: 600; }
tbody th, tbody td { border-bottom: 1px solid var(--rule); }
tbody tr:last-child th, tbody tr:last-child td { border-bottom: 2px solid var(--ink); }
td.correction { font-weight: 700; color: var(--mean-line); }
td.band { white-space: nowrap; }
td.band .end { display: inline-block; min-width: 2.5em; }
tr.bound td { border-top: 2px solid var(--alarm); }
tr.bound td.reason { color: var(--alarm); font-style: normal; font-weight: bold; }
td.reason { text-align: left; color: var(--quiet); font-style: italic; }
figure { margin: .5rem 0 0; }
figure svg { display: block; width: 100%; height: auto; }
figure .narrow { display: none; }
figcaption { color: var(--quiet); margin-top: .4rem; max-width: 42rem; }
dl {
  display: grid; grid-template-columns: minmax(8rem, max-content) 1fr;
  gap: .25rem 1.2rem; margin: .5rem 0;
}
dt { color: var(--quiet); }
dd { margin: 0; min-width: 0; max-width: 36rem; }
@media (max-width: 34rem) {
  th, td { padding: .32rem .18rem; }
  table { font-size: .82rem; }
  thead th { font-size: .74rem; }
  .cautions { font-size: .92rem; padding: .6rem .8rem; }
  td.band { white-space: normal; }
  td.band .to { display: none; }
  .gives-way { display: none; }
  td.band .end { display: block; }
  figure.two-widths .wide { display: none; }
  figure.two-widths .narrow { display: block; }
  dl { display: block; }
  dd { margin: 0 0 .5rem; }
}
@media print {
  @page { margin: 15mm 16mm; }
  body { padding: 0; font-size: 9.5pt; line-height: 1.4; }
  .gives-way { display: revert; }
  main { max-width: none; }
  h1 { font-size: 18pt; }
  h2 { font-size: 12pt; margin-top: 14pt; break-after: avoid; }
  p, ul, figcaption { max-width: none; }
  th, td { padding: 1.6pt 6pt; }
  .across { overflow: visible; }
  tr, figure, .cautions, dl > * { break-inside: avoid; }
  thead { display: table-header-group; }
  .cautions { print-color-adjust: exact; -webkit-print-color-adjust: exact; }
  figure svg { print-color-adjust: exact; -webkit-print-color-adjust: exact; }
}
"""


def style_sheet() -> str:
    """Return the page's style sheet, complete in itself.

    Returns:
        CSS without any reference outside the page. The dark colours hold on screens only, so that a
        print is dark on white.
    """
    return (
        f":root {{ color-scheme: light dark; {_variables(LIGHT)} }}\n"
        f"@media screen and (prefers-color-scheme: dark) {{ :root {{ {_variables(DARK)} }} }}\n"
        f"@media print {{ :root {{ color-scheme: light; --paper: #ffffff; }} }}"
        f"{_RULES}"
    )


def themed(drawing: str) -> str:
    """Return a drawing whose colours follow the page, from one in the light colours.

    Args:
        drawing: SVG with the colours of `palette.LIGHT`.

    Returns:
        The same with each of these colours as a variable of the page.
    """
    for name, colour in LIGHT.items():
        drawing = drawing.replace(f": {colour}", f": var(--{name})")
    return drawing


def _variables(colours: dict[str, str]) -> str:
    return " ".join(f"--{name}: {colour};" for name, colour in colours.items())
