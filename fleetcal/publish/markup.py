"""Words as HTML, and the cautions that every page begins with."""

from __future__ import annotations

import html

from fleetcal.publish.cautions import CAUTIONS
from fleetcal.publish.plain_text import one_line


def escaped(words: str) -> str:
    """Return words from the store, harmless in HTML and on one line."""
    return html.escape(one_line(words))


def cautions_section() -> str:
    """Return the section of cautions."""
    words = " ".join(html.escape(sentence) for sentence in CAUTIONS)
    return (
        '<section class="cautions" aria-labelledby="cautions">\n'
        '<h2 id="cautions">Before you use this</h2>\n'
        f"<p>{words}</p>\n"
        "</section>"
    )
