"""The figure of a watch: flights of one airframe in order, with what chance allows them.

Matplotlib is imported inside the functions: a program that prints a table must
not wait for it.
"""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING, Any, Final

from fleetcal.plain_text import one_line, signed
from fleetcal.publish.cautions import SHORT_CAUTION
from fleetcal.publish.drawing_file import drawing_bytes, drawing_style, glyphs_may_be_missing
from fleetcal.publish.palette import LIGHT
from fleetcal.publish.watch_picture import ALLOWED_WORDS, PERHAPS_WORDS, WatchPicture, dated

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_NAME: Final = "watch-figure"
_WIDTH, _PLOT, _LEFT, _RIGHT = 720.0, 270.0, 46.0, 132.0
_BELOW, _TEXT, _LETTERS = 78.0, 10.0, 112
_MOST_DATES, _MOST_NUMBERS = 9, 32
_LINE: Final = 14.0


def watch_figure(picture: WatchPicture, kind: str) -> bytes:
    """Draw the flights of an airframe.

    Args:
        kind: ``svg``, ``png`` or ``pdf``.

    Returns:
        Of a file. The same picture gives the same bytes.
    """
    import matplotlib.style

    with (
        matplotlib.style.context(["default", drawing_style(_NAME, _TEXT)]),
        glyphs_may_be_missing(),
    ):
        figure = _draw(picture)
        description = f"{picture.verdict} {SHORT_CAUTION}"
        return drawing_bytes(figure, kind, _NAME, picture.title, description)


def _draw(picture: WatchPicture) -> Figure:
    from matplotlib.figure import Figure

    verdict = textwrap.wrap(one_line(picture.verdict), _LETTERS, max_lines=3, placeholder=" …")
    above = 58.0 + _LINE * len(verdict) + (14.0 if picture.known or picture.changes else 0.0)
    height = above + _PLOT + _BELOW
    figure = Figure(figsize=(_WIDTH / 72.0, height / 72.0), facecolor=LIGHT["paper"])
    quiet = {"color": LIGHT["quiet"]}
    heading = above - 8.0 - (14.0 if picture.known or picture.changes else 0.0)
    for text, down, how in (
        (picture.title, 8.0, {"fontweight": "bold", "fontsize": _TEXT + 2.0}),
        ("\n".join(verdict), 26.0, {"linespacing": 1.25}),
        (picture.facts, 28.0 + _LINE * len(verdict), quiet),
        (picture.heading, heading - 6.0, {}),
        (SHORT_CAUTION, height - 18.0, {**quiet, "fontsize": _TEXT - 1.0}),
    ):
        words = text if "\n" in text else textwrap.shorten(one_line(text), 125, placeholder=" …")
        figure.text(10.0 / _WIDTH, 1.0 - down / height, words, va="top", **how)
    rectangle = (
        _LEFT / _WIDTH,
        _BELOW / height,
        (_WIDTH - _LEFT - _RIGHT) / _WIDTH,
        _PLOT / height,
    )
    _draw_panel(figure.add_axes(rectangle, facecolor=LIGHT["paper"]), picture)
    return figure


def _draw_panel(axes: Axes, picture: WatchPicture) -> None:
    flights = picture.flights
    axes.set_xlim(0.5, len(flights) + 0.5)
    axes.set_ylim(*picture.span_kt)
    _draw_allowed(axes, picture)
    _draw_changes(axes, picture)
    for start, end, level in picture.levels():
        axes.plot([start, end], [level, level], color=LIGHT["mean-line"], linewidth=2.4, zorder=5)
    axes.errorbar(
        [f.number for f in flights],
        [f.value_kt for f in flights],
        yerr=[[f.value_kt - f.low_kt for f in flights], [f.high_kt - f.value_kt for f in flights]],
        linestyle="none",
        marker="o",
        markersize=5.0,
        markerfacecolor=LIGHT["paper"],
        markeredgecolor=LIGHT["ink"],
        ecolor=LIGHT["ink"],
        elinewidth=0.9,
        zorder=7,
    )
    odd = [f for f in flights if f.odd]
    axes.plot(
        [f.number for f in odd],
        [f.value_kt for f in odd],
        "x",
        color=LIGHT["alarm"],
        markersize=12,
        markeredgewidth=1.8,
        zorder=8,
    )
    axes.axhline(0.0, color=LIGHT["ink"], linewidth=0.8, zorder=2)
    axes.grid(True, axis="y")
    axes.set_axisbelow(True)
    axes.spines[["top", "right"]].set_visible(False)
    _draw_ticks(axes, picture)
    _label(axes, picture)


def _draw_allowed(axes: Axes, picture: WatchPicture) -> None:
    """Draw what chance allows each flight as a block of its own."""
    for one in (flight for flight in picture.flights if flight.allowed):
        across = [one.number - 0.5, one.number + 0.5]
        axes.fill_between(
            across,
            one.allowed[0],
            one.allowed[1],
            facecolor=LIGHT["next-band"],
            edgecolor="none",
            linewidth=0.0,
            zorder=0.3,
        )
        for edge in one.allowed:
            axes.plot(
                across,
                [edge, edge],
                color=LIGHT["next-edge"],
                linewidth=1.1,
                zorder=3,
                solid_capstyle="butt",
            )


def _draw_changes(axes: Axes, picture: WatchPicture) -> None:
    """Draw where changes were found and where equipment was changed, with words above."""
    levels = picture.levels()
    for i, change in enumerate(picture.changes):
        at = change.first_after - 0.5
        axes.axvspan(
            change.perhaps_after,
            change.perhaps_before,
            facecolor="none",
            edgecolor=LIGHT["alarm"],
            hatch="////",
            linewidth=0.0,
            alpha=0.35,
            zorder=1,
        )
        axes.plot(
            [at, at],
            [levels[i][2], levels[i + 1][2]],
            color=LIGHT["alarm"],
            linewidth=2.4,
            zorder=6,
        )
        _above(axes, at, change.words, "alarm")
    low, high = axes.get_ylim()
    for first_after, words in picture.known:
        axes.axvline(
            first_after, color=LIGHT["ink"], linewidth=1.0, dashes=(7, 2, 1.5, 2), zorder=4
        )
        flight = picture.flights[min(int(first_after), len(picture.flights) - 1)]
        on_top = flight.level_kt < (low + high) / 2.0
        axes.text(
            first_after + 0.003 * len(picture.flights),
            high - 0.02 * (high - low) if on_top else low + 0.02 * (high - low),
            one_line(words)[:40],
            fontsize=_TEXT - 1.0,
            rotation=90,
            va="top" if on_top else "bottom",
            color=LIGHT["ink"],
            zorder=8,
        )


def _above(axes: Axes, at: float, words: str, colour: str) -> None:
    _, last = axes.get_xlim()
    side = "left" if at < last / 4.0 else "right" if at > 0.75 * last else "center"
    axes.annotate(
        one_line(words),
        (at, 1.0),
        xycoords=("data", "axes fraction"),
        xytext=(0, 3),
        textcoords="offset points",
        ha=side,
        va="bottom",
        fontsize=_TEXT - 0.5,
        fontweight="bold",
        color=LIGHT[colour],
        annotation_clip=False,
    )


def _draw_ticks(axes: Axes, picture: WatchPicture) -> None:
    """Number the flights, and write the days of some below."""
    from matplotlib.ticker import FuncFormatter, MaxNLocator

    flights = picture.flights
    axes.yaxis.set_major_locator(MaxNLocator(8, steps=[1, 2, 5, 10]))
    axes.yaxis.set_major_formatter(
        FuncFormatter(lambda value, _: signed(value, 0 if float(value).is_integer() else 1))
    )
    numbered = dated(flights, _MOST_NUMBERS)
    axes.set_xticks([f.number for f in numbered], [str(f.number) for f in numbered])
    for one in dated(flights, _MOST_DATES):
        axes.annotate(
            one_line(one.day),
            (one.number, 0.0),
            xycoords=("data", "axes fraction"),
            xytext=(0, -19),
            textcoords="offset points",
            ha="center",
            va="top",
            fontsize=_TEXT - 1.5,
            color=LIGHT["quiet"],
            annotation_clip=False,
        )
    axes.set_xlabel("flight, with its day (UTC)", labelpad=17.0)


def _label(axes: Axes, picture: WatchPicture) -> None:
    """Name band, level and points at the right-hand end, moved apart where they would meet."""
    last = picture.flights[-1]
    low, high = axes.get_ylim()
    labels = [
        ("own level", last.level_kt, "mean-line", 1),
        ("a flight with its\n95 % band", last.value_kt, "ink", 2),
    ]
    for value in last.allowed[1:]:
        labels.append(("\n".join(textwrap.wrap(ALLOWED_WORDS, 20)), value, "next-edge", 5))
    if picture.changes:
        words = "\n".join(textwrap.wrap(f"hatched: {PERHAPS_WORDS}", 20))
        labels.append((words, low, "alarm", 2))
    labels.sort(key=lambda item: -item[1])
    ceiling = _PLOT
    for place, (text, value, colour, lines) in enumerate(labels):
        below = sum(13.0 * more[3] + 5.0 for more in labels[place + 1 :])
        tall = 13.0 * lines
        middle = (value - low) / (high - low) * _PLOT
        middle = max(min(middle, ceiling - tall / 2.0), below + tall / 2.0)
        ceiling = middle - tall / 2.0 - 5.0
        at = last.number + (0.5 if colour != "ink" else 0.006 * last.number)
        axes.annotate(
            text,
            (at, value),
            xytext=(1.0 + 18.0 / (_WIDTH - _LEFT - _RIGHT), middle / _PLOT),
            textcoords="axes fraction",
            va="center",
            fontsize=_TEXT - 1.0,
            color=LIGHT[colour],
            arrowprops=None if colour == "alarm" else _lead(LIGHT[colour]),
            annotation_clip=False,
        )


def _lead(colour: str) -> dict[str, Any]:
    return {"arrowstyle": "-", "color": colour, "linewidth": 0.7, "relpos": (0.0, 0.5)}
