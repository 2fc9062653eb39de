from __future__ import annotations

import os
import re
import subprocess
import sys
import xml.etree.ElementTree as ElementTree

import pytest

from fleetcal.publish.cautions import SHORT_CAUTION
from fleetcal.publish.figure import correction_figure_svg
from fleetcal.publish.figure_labels import _spread
from fleetcal.publish.figure_layout import NARROW, WIDE, FigureLayout, frame_of
from fleetcal.publish.palette import DARK, LIGHT
from fleetcal.publish.pooled_table import PlottedPoint
from tests.publish.invented_table import correction_at, empty_row, filled_row, invented_table

SVG = "{http://www.w3.org/2000/svg}"


def words_of(svg: str) -> list[str]:
    return ["".join(node.itertext()) for node in ElementTree.fromstring(svg).iter(f"{SVG}text")]


@pytest.mark.parametrize("narrow", [False, True])
def test_the_figure_names_axes_with_units_curve_and_both_bands(narrow: bool) -> None:
    words = " ".join(words_of(correction_figure_svg(invented_table(), narrow=narrow)))
    words = words.replace("\u00a0", " ").replace("\n", " ")
    for wanted in (
        "indicated airspeed, kt",
        "correction to add, kt",
        "the group's mean",
        "95 % band",
        "another aircraft of",
        "group's mean",
        "standard uncertainty",
        "Corrie 2, mid-fuselage raised disc pair",
        "600 kg",
        "flaps up",
    ):
        assert wanted in words
    assert SHORT_CAUTION.split(";")[0] in words


def test_the_figure_loads_nothing_and_carries_no_date() -> None:
    svg = correction_figure_svg(invented_table())
    outside = re.sub(r'xmlns(:\w+)?="[^"]*"', "", svg)
    assert "http" not in outside
    assert "url(" not in re.sub(r"url\(#[\w-]+\)", "", outside)
    assert "<!--" not in svg
    assert "metadata" not in svg
    assert not re.search(r"20\d\d-\d\d-\d\d", svg)


@pytest.mark.long
def test_the_figure_is_the_same_bytes_in_another_process_with_other_settings(tmp_path) -> None:
    (tmp_path / "matplotlibrc").write_text(
        "axes.facecolor: red\nfont.size: 30\nxtick.major.size: 20\naxes.labelpad: 30\n"
    )
    code = (
        "import sys; from tests.publish.invented_table import invented_table\n"
        "from fleetcal.publish.figure import correction_figure_svg\n"
        "sys.stdout.buffer.write(correction_figure_svg(invented_table()).encode())"
    )
    path = os.pathsep.join(filter(None, sys.path))
    environment = {
        **os.environ,
        "PYTHONPATH": path,
        "PYTHONHASHSEED": "7",
        "MATPLOTLIBRC": str(tmp_path),
        "TZ": "Pacific/Auckland",
    }
    other = subprocess.run(
        [sys.executable, "-c", code], env=environment, capture_output=True, check=True
    ).stdout
    assert other.decode() == correction_figure_svg(invented_table())


def test_the_wide_and_the_narrow_figure_share_no_name_on_one_page() -> None:
    names = []
    for narrow in (False, True):
        svg = correction_figure_svg(invented_table(), narrow=narrow)
        own = re.findall(r'\bid="([^"]+)"', svg)
        assert len(own) == len(set(own))
        used = set(re.findall(r'href="#([^"]+)"', svg)) | set(re.findall(r"url\(#([^)]+)\)", svg))
        assert used
        assert used <= set(own)
        names += own
    assert len(names) == len(set(names))


def test_names_from_outside_are_escaped_and_not_taken_for_formulas() -> None:
    table = invented_table(
        type_name="<b>&\x00 $x^2$", static_source='"]]><script>alert(1)</script>'
    )
    svg = correction_figure_svg(table)
    assert "<script" not in svg
    assert any("$x^2$" in words for words in words_of(svg))


def test_an_airframe_outside_the_outer_band_is_tagged_and_one_inside_is_not() -> None:
    points = (
        PlottedPoint(
            airframe="C-21",
            ias_kt=90.0,
            correction_kt=correction_at(90.0) + 5.0,
            u_correction_kt=0.4,
        ),
        PlottedPoint(
            airframe="C-22",
            ias_kt=90.0,
            correction_kt=correction_at(90.0) + 0.2,
            u_correction_kt=0.4,
        ),
        PlottedPoint(airframe="C-23", ias_kt=150.0, correction_kt=9.0, u_correction_kt=0.4),
    )
    words = words_of(correction_figure_svg(invented_table(points=points)))
    assert "C-21" in words
    assert "C-22" not in words
    assert "C-23" not in words, "beyond the curve's speeds there is no band to be outside of"


def test_a_gap_in_the_curve_is_not_bridged() -> None:
    points = (PlottedPoint(airframe="C-21", ias_kt=95.0, correction_kt=9.0, u_correction_kt=0.4),)
    curve = (
        filled_row(80.0),
        filled_row(90.0),
        empty_row(95.0),
        filled_row(100.0),
        filled_row(110.0),
    )
    whole = tuple(row for row in curve if not row.is_empty)
    assert "C-21" not in words_of(correction_figure_svg(invented_table(points=points, curve=curve)))
    assert "C-21" in words_of(correction_figure_svg(invented_table(points=points, curve=whole)))


@pytest.mark.parametrize("narrow", [False, True])
@pytest.mark.parametrize(
    "changes",
    [
        {"points": ()},
        {"curve": ()},
        {"rows": (empty_row(50.0),), "curve": (), "points": ()},
        {"rows": (filled_row(80.0),), "curve": (), "points": ()},
        {
            "points": (
                PlottedPoint(airframe="C-01", ias_kt=80.0, correction_kt=1.0, u_correction_kt=0.0),
            ),
            "curve": (empty_row(60.0),),
        },
    ],
)
def test_a_figure_is_drawn_even_from_little(changes: dict[str, object], narrow: bool) -> None:
    ElementTree.fromstring(correction_figure_svg(invented_table(**changes), narrow=narrow))


def test_labels_beside_the_curve_never_overlap_and_stay_on_the_axes() -> None:
    sizes = [28.0, 14.0, 28.0, 28.0]
    room = WIDE.plot_height
    for heights in ([100.0, 99.0, 98.0, 0.0], [400.0, 399.0, 398.0, 0.0], [3.0, 2.0, 1.0, 0.0]):
        placed = _spread(heights, sizes, WIDE)
        for above, below, high, low in zip(placed, placed[1:], sizes, sizes[1:], strict=False):
            assert above - high / 2 >= below + low / 2
        assert placed[0] + sizes[0] / 2 <= room
        assert placed[-1] - sizes[-1] / 2 >= 0.0


@pytest.mark.parametrize("layout", [WIDE, NARROW])
def test_long_names_take_room_above_the_axes_and_never_lie_over_them(layout: FigureLayout) -> None:
    short = frame_of(invented_table(), layout)
    long = frame_of(invented_table(static_source="pair " * 40, propeller="blade " * 40), layout)
    assert long.facts_top > short.facts_top
    assert long.key_top - long.facts_top > short.key_top - short.facts_top
    assert long.plot_top - long.key_top == pytest.approx(short.plot_top - short.key_top)
    assert long.height - long.plot_top == pytest.approx(short.height - short.plot_top)


def test_airframes_far_outside_are_tagged_before_those_near_the_band_and_four_at_most() -> None:
    points = tuple(
        PlottedPoint(
            airframe=f"C-{n:02d}",
            ias_kt=60.0 + 10.0 * n,
            correction_kt=correction_at(60.0 + 10.0 * n) + 2.5 + n,
            u_correction_kt=0.2,
        )
        for n in range(8)
    )
    words = words_of(correction_figure_svg(invented_table(points=points)))
    assert {word for word in words if word.startswith("C-")} == {"C-04", "C-05", "C-06", "C-07"}


def _luminance(colour: str) -> float:
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def _contrast(one: str, other: str) -> float:
    bright, dark = sorted((_luminance(one), _luminance(other)), reverse=True)
    return (bright + 0.05) / (dark + 0.05)


@pytest.mark.parametrize("palette", [LIGHT, DARK])
def test_text_and_lines_stand_out_as_the_web_accessibility_guidelines_ask(
    palette: dict[str, str],
) -> None:
    # WCAG 2.2, success criteria 1.4.3 (text, 4.5 to 1) and 1.4.11 (graphics, 3 to 1).
    for name in ("ink", "quiet", "mean-line", "next-edge", "point"):
        assert _contrast(palette[name], palette["paper"]) >= 4.5, name
    assert _contrast(palette["ink"], palette["caution-paper"]) >= 4.5
    for line, ground in (
        ("mean-line", "mean-band"),
        ("next-edge", "next-band"),
        ("point", "next-band"),
        ("point", "mean-band"),
    ):
        assert _contrast(palette[line], palette[ground]) >= 3.0, (line, ground)


def test_both_palettes_colour_the_same_parts_and_no_colour_stands_for_two() -> None:
    assert LIGHT.keys() == DARK.keys()
    assert len(set(LIGHT.values())) == len(LIGHT)
