"""Pages from the templates beside this module.

Templates get plain values and know nothing of where a page is kept: `to`, where a
page has links, gives the address of another page as seen from it.
"""

from __future__ import annotations

import html
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING, Any, Final
from urllib.parse import quote

from fleetcal.plain_text import one_line, sentence, signed
from fleetcal.publish.cautions import CAUTION_LINE, CAUTIONS, PITOT_ASSUMPTION
from fleetcal.publish.page_columns import band, number, text
from fleetcal.publish.page_rows import band_ends, table_rows
from fleetcal.publish.palette import DARK, LIGHT

if TYPE_CHECKING:
    from jinja2 import Environment
    from markupsafe import Markup

_SAFE_IN_ADDRESS: Final = " :/='"

#: Scripts of the pages of the site, each with one idea.
SCRIPTS: Final = ("tables.js", "read_out.js", "zoom.js", "layers.js")


def render(name: str, **values: Any) -> Markup:
    """Return what a template makes of values; the same values give the same text.

    Args:
        values: Words from a store come out escaped and on one line.
    """
    from markupsafe import Markup

    return Markup(_environment().get_template(name).render(values))


def escaped(words: str) -> str:
    """Return words from the store, harmless in HTML and on one line."""
    return html.escape(one_line(words))


@cache
def _squeezed(words: str) -> str:
    """Return style or script without indents, empty lines and lines of comment."""
    lines = (line.strip() for line in words.splitlines())
    return "\n".join(line for line in lines if line and not line.startswith("//"))


def _mark() -> str:
    """Return the sign of the program as an address that holds the drawing itself."""
    drawing = files(__package__).joinpath("templates/mark.svg").read_text(encoding="utf-8")
    return f"data:image/svg+xml,{quote(drawing.strip(), safe=_SAFE_IN_ADDRESS)}"


@cache
def _environment() -> Environment:
    from jinja2 import Environment, PackageLoader, StrictUndefined
    from markupsafe import Markup

    def shown(value: object) -> object:
        if isinstance(value, str) and not isinstance(value, Markup):
            return Markup(escaped(value))
        return value

    def together(words: str) -> Markup:
        return Markup(escaped(words).replace(" %", "&nbsp;%"))

    made = Environment(
        loader=PackageLoader("fleetcal.publish"),
        autoescape=True,
        finalize=shown,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    made.filters.update(
        at="{:.1f}".format,
        sentence=sentence,
        signed=signed,
        squeezed=lambda words: Markup(_squeezed(str(words))),
        together=together,
    )
    made.globals.update(
        all_cautions=CAUTIONS,
        caution_line=CAUTION_LINE,
        mark=_mark(),
        pitot_assumption=PITOT_ASSUMPTION,
        light=LIGHT,
        dark=DARK,
        band=band,
        band_ends=band_ends,
        number=number,
        scripts=SCRIPTS,
        table_rows=table_rows,
        text=text,
    )
    return made
