"""The published page: one self-contained HTML document for one group."""

from __future__ import annotations

from fleetcal.publish.markup import cautions_section, escaped
from fleetcal.publish.page_style import style_sheet, themed
from fleetcal.publish.page_table import table_element
from fleetcal.publish.pooled_table import PooledTable
from fleetcal.publish.table_words import fact_words, held_for_words, title_words


def table_html(table: PooledTable, figure_svg: str, narrow_figure_svg: str | None = None) -> str:
    """Return the page of one group as HTML.

    Args:
        figure_svg: From `correction_figure_svg`.
        narrow_figure_svg: The same drawn narrow, shown instead on narrow screens.

    Returns:
        A whole HTML document that loads nothing from outside, for light and dark screens,
        telephones and A4 paper. The same input gives the same bytes.
    """
    title = escaped(f"Position correction: {table.type_name}, {table.static_source}")
    return "\n".join(
        (
            "<!DOCTYPE html>",
            '<html lang="en">',
            "<head>",
            '<meta charset="utf-8">',
            '<meta name="viewport" content="width=device-width, initial-scale=1">',
            f"<title>{title}</title>",
            f"<style>\n{style_sheet()}</style>",
            "</head>",
            "<body>",
            "<main>",
            _heading(table),
            cautions_section(),
            *_doubts(table),
            table_element(table),
            _figure(table, figure_svg, narrow_figure_svg),
            _background(table),
            _left_out(table),
            "</main>",
            "</body>",
            "</html>",
            "",
        )
    )


def _heading(table: PooledTable) -> str:
    return (
        "<header>\n"
        '<p class="subject">Position correction of airspeed and altimeter, '
        "pooled over a group of aircraft</p>\n"
        f"<h1>{escaped(title_words(table))}</h1>\n"
        f'<p class="held-for">{escaped(held_for_words(table))}{_issue(table)}</p>\n'
        f"{_warning(table)}"
        "</header>"
    )


def _issue(table: PooledTable) -> str:
    return "" if table.issue is None else f" {escaped(table.issue.title)}."


def _warning(table: PooledTable) -> str:
    if not table.warning:
        return ""
    return f'<p class="withdrawn"><strong>{escaped(table.warning)}</strong></p>\n'


def _figure(table: PooledTable, figure_svg: str, narrow_figure_svg: str | None) -> str:
    drawings = [f'<div class="wide">{_drawing(figure_svg)}</div>']
    kind = "one-width"
    if narrow_figure_svg is not None:
        drawings.append(f'<div class="narrow">{_drawing(narrow_figure_svg)}</div>')
        kind = "two-widths"
    caption = (
        "Above the zero line the indicator shows too little, below it too much. Tags mark the "
        "aircraft, at most four and where there is room, with the points farthest outside the band "
        "for the next aircraft. Points lie there by chance too, so a tag is a reason to "
        "look, not a finding."
    )
    return (
        '<section aria-labelledby="figure">\n'
        '<h2 id="figure">Points and curve</h2>\n'
        f'<figure class="{kind}">\n' + "\n".join(drawings) + f"\n<figcaption>{caption}</figcaption>"
        "\n</figure>\n</section>"
    )


def _drawing(svg: str) -> str:
    return themed(svg[svg.index("<svg") :].strip())


def _background(table: PooledTable) -> str:
    items = "\n".join(
        f"<dt>{escaped(name)}</dt>\n<dd>{escaped(value)}</dd>" for name, value in fact_words(table)
    )
    return (
        '<section aria-labelledby="background">\n'
        '<h2 id="background">What stands behind it</h2>\n'
        f"<dl>\n{items}\n</dl>\n"
        "</section>"
    )


def _doubts(table: PooledTable) -> tuple[str, ...]:
    if not table.doubts:
        return ()
    return (_list_section("doubts", "What speaks against it", table.doubts),)


def _left_out(table: PooledTable) -> str:
    return _list_section("left-out", "What was left out", table.left_out)


def _list_section(name: str, heading: str, sentences: tuple[str, ...]) -> str:
    if sentences:
        items = "\n".join(f"<li>{escaped(sentence)}</li>" for sentence in sentences)
        words = f"<ul>\n{items}\n</ul>"
    else:
        words = "<p>Nothing was left out.</p>"
    return (
        f'<section aria-labelledby="{name}">\n<h2 id="{name}">{heading}</h2>\n{words}\n</section>'
    )
