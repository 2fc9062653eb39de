"""How a notebook shows an answer: its sentences first, then the figure and the table."""

from __future__ import annotations

import base64
import io
from collections.abc import Callable, Sequence
from html import escape
from typing import TYPE_CHECKING, Final
from warnings import catch_warnings, simplefilter

if TYPE_CHECKING:
    from matplotlib.figure import Figure
    from pandas import DataFrame

#: By the end of a name.
_DIGITS: Final = {"_kt": ".1f", "_ft": ".0f", "_deg": ".0f", "_kg": ".0f", "_s": ".0f"}


def answer_html(
    *,
    sentences: Sequence[str],
    warnings: Sequence[str],
    figure: Figure | None,
    table: str,
    caution: str,
) -> str:
    """Return an answer as HTML that stands by itself.

    Args:
        table: HTML.
    """
    parts = [f"<p><strong>{escape(text)}</strong></p>" for text in sentences]
    parts += [f"<p>{escape(text)}</p>" for text in warnings]
    if figure is not None:
        parts.append(_image(figure, sentences[0]))
    parts.append(f'<div style="overflow-x: auto">{table}</div>')
    if caution:
        parts.append(f"<p><small>{escape(caution)}</small></p>")
    return f"<div>{''.join(parts)}</div>"


def frame_html(frame: DataFrame, notable: Sequence[str]) -> str:
    """Return a frame as an HTML table, rounded.

    Args:
        notable: Columns to show; all if none of them is there.
    """
    shown = [name for name in notable if name in frame.columns] or list(frame.columns)
    formats = [_format_of(name, str(frame[name].dtype)) for name in shown]
    text: str = frame[shown].to_html(
        index=False, na_rep="", border=0, escape=True, formatters=formats
    )
    return text


def _format_of(name: str, kind: str) -> Callable[[object], str]:
    """Return how the values of a column are written, numbers by the unit in its name."""
    if kind != "float64":
        return lambda value: "" if value is None else str(value)
    digits = next((form for unit, form in _DIGITS.items() if name.endswith(unit)), ".4g")
    return lambda value: "" if value != value else f"{value:{digits}}"


def _image(figure: Figure, words: str) -> str:
    """Return a figure as an image: inside one, its names cannot meet those of another."""
    raw = io.BytesIO()
    with catch_warnings():
        simplefilter("ignore")  # of letters that the font lacks
        figure.savefig(raw, format="svg")
    data = base64.b64encode(raw.getvalue()).decode("ascii")
    source = f"data:image/svg+xml;base64,{data}"
    return f'<img alt="{escape(words)}" style="max-width: 100%" src="{source}">'
