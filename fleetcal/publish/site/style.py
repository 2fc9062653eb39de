"""What the site's pages need beside the style of a single page."""

from __future__ import annotations

from typing import Final

from fleetcal.publish.page_style import style_sheet

_RULES: Final = """
.skip { position: absolute; left: -999rem; }
.skip:focus { left: 1rem; top: .5rem; background: var(--paper); padding: .3rem .6rem; }
a { color: var(--mean-line); text-underline-offset: .15em; }
a:focus-visible, button:focus-visible, input:focus-visible {
  outline: 3px solid var(--next-edge); outline-offset: 2px;
}
nav.where { max-width: 56rem; margin: 0 auto 1.2rem; color: var(--quiet); }
nav.where ol {
  list-style: none; margin: 0; padding: 0; display: flex; flex-wrap: wrap; gap: .1rem 1.2rem;
  max-width: none;
}
nav.where a { display: inline-block; padding: .25rem 0; }
th.plain, td.plain { text-align: left; }
.day { white-space: nowrap; }
section[aria-labelledby=groups] tbody th { min-width: 9em; }
th[scope=row] { font-weight: 600; }
td, th { overflow-wrap: break-word; }
td:not(.plain), thead th, tbody th:not(.plain) { overflow-wrap: normal; }
tbody th:not(.plain) { white-space: nowrap; }
th + th.plain, th ~ td.plain { padding-left: .7rem; }
td.reason { overflow-wrap: anywhere; }
thead button {
  font: inherit; font-weight: 600; color: inherit; background: none; border: 0; padding: .2rem 0;
  text-align: inherit; cursor: pointer; text-decoration: underline dotted; text-underline-offset:
  .2em;
}
thead button .unit { display: inline-block; width: 100%; }
th[aria-sort] button { text-decoration: underline solid; }
th[aria-sort=ascending] button::after { content: " \\2191"; }
th[aria-sort=descending] button::after { content: " \\2193"; }
.none { color: var(--quiet); font-style: italic; font-size: .9em; }
.verdict-outside { font-weight: 700; color: var(--alarm); }
.facts {
  display: flex; flex-wrap: wrap; gap: .2rem 2rem; margin: .8rem 0 0; padding: 0;
  list-style: none; max-width: none;
}
.facts strong { font-size: 1.3em; font-variant-numeric: tabular-nums; }
svg text { font: 12px system-ui, sans-serif; fill: var(--ink); }
svg .tick, svg text.quiet { fill: var(--quiet); font-size: 11.5px; }
svg text.quiet, svg text.tag {
  paint-order: stroke; stroke: var(--paper); stroke-width: 3px; stroke-linejoin: round;
}
svg text.tag { font-weight: 600; }
svg path, svg line { fill: none; }
svg .axis { stroke: var(--quiet); }
svg .grid { stroke: var(--rule); }
svg .zero { stroke: var(--ink); }
svg .mean-line { stroke: var(--mean-line); stroke-width: 2.4; }
svg .mean-band { fill: var(--mean-band); }
svg .next-band { fill: var(--next-band); }
svg .next-edge { stroke: var(--next-edge); stroke-dasharray: 5 3; }
svg .handbook { stroke: var(--alarm); stroke-width: 2; stroke-dasharray: 9 4; }
svg text.of-handbook { fill: var(--alarm); }
svg .lead.of-handbook { stroke: var(--alarm); }
svg .allowed { stroke: var(--quiet); stroke-dasharray: 1 3; }
svg .lead.of-mean { stroke: var(--mean-line); }
svg .lead.of-next { stroke: var(--next-edge); }
svg text.of-mean { fill: var(--mean-line); }
svg text.of-next { fill: var(--next-edge); }
svg .point path { stroke: var(--point); stroke-width: .8; }
svg .point circle { fill: var(--paper); stroke: var(--point); }
svg .marked circle { fill: var(--ink); stroke: var(--ink); }
svg .marked path { stroke: var(--ink); stroke-width: 1.2; }
svg .pointer { stroke: var(--ink); stroke-dasharray: 3 3; visibility: hidden; }
.read-out { margin: .3rem 0 .5rem; padding: .5rem .8rem; border: 1px solid var(--rule); }
.read-out label { display: flex; flex-wrap: wrap; gap: .2rem 1rem; align-items: center; }
.read-out input {
  flex: 1 1 12rem; min-width: 0; accent-color: var(--mean-line); min-height: 1.6rem;
}
.read-out output {
  display: block; font-weight: 600; font-variant-numeric: tabular-nums; min-height: 1.6em;
}
.key { list-style: none; padding: 0; margin: .3rem 0; font-size: .9rem; }
.key li { display: flex; align-items: center; gap: .5rem; }
.swatch { display: inline-block; width: 1.6rem; height: .8rem; }
.swatch.mean { height: 0; border-top: 3px solid var(--mean-line); }
.swatch.of-handbook { height: 0; border-top: 3px dashed var(--alarm); }
.swatch.mean-band { background: var(--mean-band); }
.swatch.next-band { background: var(--next-band); outline: 1px dashed var(--next-edge); }
.runs { display: grid; grid-template-columns: repeat(auto-fill, minmax(14rem, 1fr)); gap: 1rem; }
.runs figure { margin: 0; }
svg .bound { fill: none; stroke: var(--alarm); stroke-width: 1.6; }
svg .bound-name { fill: var(--alarm); }
svg .circle { fill: none; stroke: var(--mean-line); stroke-width: 1.4; }
svg .ground { stroke: var(--point); }
svg .wind { stroke: var(--next-edge); stroke-width: 3; }
svg .tip { fill: var(--ink); }
svg .origin { fill: var(--ink); }
footer {
  max-width: 56rem; margin: 3rem auto 0; padding-top: .6rem; border-top: 1px solid var(--rule);
  color: var(--quiet);
}
@media screen and (min-width: 34.01rem) and (max-width: 56rem) {
  section[aria-labelledby=groups] table { font-size: .88em; }
  section[aria-labelledby=groups] tbody th { min-width: 7em; }
  th, td { padding: .32rem .35rem; }
}
@media (max-width: 34rem) {
  .spare { display: none; }
  .across { overflow-x: auto; }
  .read-out output { min-height: 4.6em; }
}
@media print {
  .skip, nav.where, .read-out, svg .pointer { display: none; }
  .spare { display: revert; }
  caption, thead { break-after: avoid; }
  tbody tr:nth-child(-n+2) { break-before: avoid; }
  table { font-size: 8.5pt; }
  figure.two-widths .wide { display: block; }
  figure.two-widths .narrow { display: none; }
  footer { margin-top: 14pt; }
  .runs { grid-template-columns: repeat(3, 1fr); }
  a { color: inherit; text-decoration: none; }
}
"""


def site_style() -> str:
    """Return the style sheet of the site's pages, complete in itself."""
    return f"{style_sheet()}{_RULES}"
