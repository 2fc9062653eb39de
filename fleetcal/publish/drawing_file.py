"""A drawing as the bytes of a file: the same drawing gives the same bytes.

It is made with the library's own defaults, not the user's settings, and without dates.
"""

from __future__ import annotations

import io
import re
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any, Final

from fleetcal.publish.palette import LIGHT
from fleetcal.publish.templating import escaped

if TYPE_CHECKING:
    from matplotlib.figure import Figure

PNG_DOTS_PER_INCH: Final = 160
_NO_METADATA: Final = {
    "svg": dict.fromkeys(("Creator", "Date", "Format", "Type")),
    "pdf": dict.fromkeys(("Creator", "Producer", "CreationDate")),
    "png": {"Software": None},
}


def drawing_style(name: str, text_size: float) -> dict[str, Any]:
    """Return the settings that a drawing is made under.

    Args:
        name: Of the kind of drawing; names inside an SVG depend on it.
        text_size: Points.

    Returns:
        For ``matplotlib.style.context``, after ``default``.
    """
    return {
        "svg.hashsalt": name,
        "svg.fonttype": "none",
        "pdf.fonttype": 42,
        "text.parse_math": False,
        "font.family": "sans-serif",
        "font.sans-serif": ["DejaVu Sans"],
        "font.size": text_size,
        "axes.edgecolor": LIGHT["quiet"],
        "axes.labelcolor": LIGHT["ink"],
        "axes.linewidth": 0.8,
        "hatch.linewidth": 0.6,
        "text.color": LIGHT["ink"],
        "xtick.color": LIGHT["quiet"],
        "ytick.color": LIGHT["quiet"],
        "xtick.labelcolor": LIGHT["ink"],
        "ytick.labelcolor": LIGHT["ink"],
        "grid.color": LIGHT["rule"],
        "grid.linewidth": 0.7,
    }


@contextmanager
def glyphs_may_be_missing() -> Iterator[None]:
    """Keep the drawing library from complaining of letters that its font lacks.

    An SVG keeps the letters, and whoever shows it has more fonts.
    """
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", message="Glyph .* missing from font", category=Warning)
        warnings.filterwarnings("ignore", message="Matplotlib currently does not support")
        yield


def drawing_bytes(figure: Figure, kind: str, name: str, title: str, description: str) -> bytes:
    """Return a drawing as a file.

    Args:
        kind: ``svg``, ``png`` or ``pdf``.
        name: Of the kind of drawing.
        title, description: For those who cannot see it; an SVG carries them.
    """
    raw = _saved(figure, kind)
    if kind != "svg":
        return raw
    return _described(_bare(raw), name, title, description).encode("utf-8")


def paper_drawing(figure: Figure) -> bytes:
    """Return a drawing as an SVG without words for those who cannot see it, to put on paper."""
    return _bare(_saved(figure, "svg")).encode("utf-8")


def _saved(figure: Figure, kind: str) -> bytes:
    raw = io.BytesIO()
    figure.savefig(
        raw,
        format=kind,
        dpi=PNG_DOTS_PER_INCH if kind == "png" else "figure",
        metadata=_NO_METADATA[kind],
    )
    return raw.getvalue()


def _bare(raw: bytes) -> str:
    text = raw.decode("utf-8")
    drawing = re.sub(r"<!--.*?-->\n?", "", text[text.index("<svg") :], flags=re.DOTALL)
    return re.sub(r"\s*<metadata>.*?</metadata>", "", drawing, flags=re.DOTALL)


def _described(drawing: str, name: str, title: str, description: str) -> str:
    # ids and style of one drawing must not meet those of another on the same page
    drawing = re.sub(r'(\bid="|href="#|url\(#)', rf"\g<1>{name}-", drawing)
    drawing = drawing.replace(
        '<style type="text/css">*{', f'<style type="text/css">#{name}-figure_1 *{{'
    )
    words = (
        f'<title id="{name}-title">{escaped(title)}</title>\n'
        f'<desc id="{name}-description">{escaped(description)}</desc>\n'
    )
    end = drawing.index(">")
    opening = f'{drawing[:end]} role="img" aria-labelledby="{name}-title {name}-description">\n'
    return f'<?xml version="1.0" encoding="utf-8"?>\n{opening}{words}{drawing[end + 1 :]}'
