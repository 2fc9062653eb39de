"""The colours of figure and page, for light and for dark paper.

Blue and ochre stay apart in the common forms of colour blindness, and no
meaning rests on colour alone: bands differ in edge, lines in dash, and each is
named beside it. The figure is drawn with the light colours; the page swaps each
for a variable, so that one drawing serves both.
"""

from __future__ import annotations

from typing import Final

LIGHT: Final[dict[str, str]] = {
    "paper": "#fdfcf9",
    "ink": "#1c2430",
    "quiet": "#56606d",
    "rule": "#d9d6cd",
    "mean-line": "#0f4c81",
    "mean-band": "#8fb8da",
    "next-edge": "#8a5a00",
    "next-band": "#f3e2bf",
    "point": "#4a4f57",
    "caution-paper": "#fbf1dc",
    "alarm": "#a3122b",
}
"""Colour of each part on light paper, all different."""

DARK: Final[dict[str, str]] = {
    "paper": "#14181e",
    "ink": "#e8e6e1",
    "quiet": "#a9b0ba",
    "rule": "#38404b",
    "mean-line": "#9fd0f7",
    "mean-band": "#285a86",
    "next-edge": "#e2b458",
    "next-band": "#3d3421",
    "point": "#c9ccd1",
    "caution-paper": "#2a2415",
    "alarm": "#ff9aa8",
}
"""Colour of each part on dark paper."""
