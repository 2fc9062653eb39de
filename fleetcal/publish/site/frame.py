"""The frame around every page of the site: head, way back, cautions, foot."""

from __future__ import annotations

import html
from dataclasses import dataclass

from fleetcal.publish.cautions import PITOT_ASSUMPTION, SHORT_CAUTION
from fleetcal.publish.markup import cautions_section, escaped
from fleetcal.publish.site.content import SiteFacts
from fleetcal.publish.site.script import SCRIPT
from fleetcal.publish.site.style import site_style


@dataclass(frozen=True, kw_only=True)
class Page:
    """A page before it is framed.

    Attributes:
        path: From the root of the site.
        title: Of the page and its first heading.
        subject: What kind of page it is.
        lead: HTML below the heading.
        trail (tuple of (words, href)): Links back, from the overview on.
        parts: HTML of the sections.
    """

    path: str
    title: str
    subject: str
    lead: str
    trail: tuple[tuple[str, str], ...]
    parts: tuple[str, ...]


def framed(page: Page, facts: SiteFacts) -> str:
    """Return a page as a whole HTML document that loads nothing.

    Returns:
        The same page gives the same bytes.
    """
    title = escaped(page.title)
    return "\n".join(
        (
            "<!DOCTYPE html>",
            '<html lang="en">',
            "<head>",
            '<meta charset="utf-8">',
            '<meta name="viewport" content="width=device-width, initial-scale=1">',
            f"<title>{title}</title>",
            f"<style>\n{site_style()}</style>",
            "</head>",
            "<body>",
            '<a class="skip" href="#content">To the content</a>',
            _trail(page.trail),
            '<main id="content">',
            f'<header>\n<p class="subject">{escaped(page.subject)}</p>\n<h1>{title}</h1>\n'
            f"{page.lead}\n</header>",
            cautions_section(),
            *(part for part in page.parts if part),
            "</main>",
            _foot(facts),
            f"<script>{SCRIPT}</script>",
            "</body>",
            "</html>",
            "",
        )
    )


def _trail(trail: tuple[tuple[str, str], ...]) -> str:
    if not trail:
        return ""
    items = "".join(
        f'<li><a href="{html.escape(href)}">{escaped(words)}</a></li>' for words, href in trail
    )
    return f'<nav class="where" aria-label="Back"><ol>{items}</ol></nav>'


def _foot(facts: SiteFacts) -> str:
    return (
        f"<footer>\n<p>{escaped(SHORT_CAUTION)} {escaped(PITOT_ASSUMPTION)}</p>\n"
        f"<p>Made on {escaped(facts.made_on)} by fleetcal {escaped(facts.program_version)}. "
        f"{escaped(facts.finest_date)}</p>\n</footer>"
    )
