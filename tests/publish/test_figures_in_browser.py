"""The scripts of curves' figures in headless Chromium: reading out, zooming, hiding."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.publish.browser import Tab, browser
from tests.publish.site_store import make_store, run

pytestmark = pytest.mark.long

FIGURE = "document.querySelector('figure.curve')"
SHOWN = f"Array.from({FIGURE}.querySelectorAll('svg')).find(s => s.getBoundingClientRect().width)"
ANSWER = f"{FIGURE}.querySelector('.read-out output').textContent"
RANGE = f"{FIGURE}.querySelector('.zoom output').textContent"
#: Where points are drawn and what their titles say, with what the axes say at their places.
PLACES = """
(function (s) {
  const number = t => parseFloat(t.textContent.replace("\\u2212", "-"));
  const box = e => e.getBoundingClientRect();
  const middle = e => [(box(e).left + box(e).right) / 2, (box(e).top + box(e).bottom) / 2];
  const fit = marks => {
    const [a, b] = [marks[0], marks[marks.length - 1]];
    return at => a[1] + (at - a[0]) / (b[0] - a[0]) * (b[1] - a[1]);
  };
  const [up, along] = s.querySelectorAll(".ticks");
  const read = (group, kind, side) => {
    const lines = group.querySelectorAll("path"), texts = group.querySelectorAll("text");
    return Array.from(texts).map((t, i) => [middle(lines[i])[side], number(t)]);
  };
  const x = fit(read(along, "axis", 0)), y = fit(read(up, "grid", 1));
  return Array.from(s.querySelectorAll(".point")).map(p => {
    const at = middle(p.querySelector("circle"));
    return [x(at[0]), y(at[1]), p.querySelector("title").textContent];
  });
})(SHOWN)
""".replace("SHOWN", SHOWN)


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("figures")
    store = make_store(folder, hostile=False)
    run(store, "publish", "--site", "--out", folder / "site", "--date", "2024-05-06")
    return folder / "site"


@pytest.fixture(scope="module")
def tab() -> Iterator[Tab]:
    with browser() as opened:
        yield opened


@pytest.fixture
def group(site: Path, tab: Tab) -> Tab:
    tab.show(1400)
    tab.open(sorted((site / "groups").iterdir())[0])
    tab.run(f"{FIGURE}.scrollIntoView()")
    return tab


@pytest.fixture
def own(site: Path, tab: Tab) -> Tab:
    tab.show(1400)
    tab.open(site / "airframes" / "C-02.html")
    tab.run(f"{FIGURE}.scrollIntoView()")
    return tab


def press(tab: Tab, words: str) -> None:
    buttons = f"Array.from({FIGURE}.querySelectorAll('.zoom button'))"
    tab.run(f"{buttons}.find(b => b.textContent === '{words}').click()")


def place(tab: Tab, speed: float) -> tuple[float, float]:
    """Where a speed lies on the screen, a little below the upper end of the axes."""
    x, y = tab.run(
        f"""(function (s) {{ const b = s.getBoundingClientRect(), d = s.dataset;
        const x = +d.left + ({speed} - d.first) / (d.last - d.first) * (d.right - d.left);
        return [b.left + x / s.viewBox.baseVal.width * b.width, b.top + 80]; }})({SHOWN})"""
    )
    return x, y


def right_places(found: list[Any]) -> int:
    """Check that points stand where the axes have what their titles say; return how many."""
    for ias, correction, title in found:
        said = re.search(r": ([+\u2212]?[\d.]+) ± .* at (\d+) kt IAS", title)
        assert said, title
        assert ias == pytest.approx(float(said[2]), abs=0.8), title
        assert correction == pytest.approx(float(said[1].replace("\u2212", "-")), abs=0.12), title
    return len(found)


def at(words: str) -> int:
    found = re.match(r"(\d+) kt indicated is [\d.]+ calibrated: add ", words)
    assert found, words
    return int(found[1])


def test_points_stand_where_the_axes_say_before_and_after_a_zoom(group: Tab) -> None:
    assert right_places(group.run(PLACES)) >= 20
    whole = group.run(RANGE)
    for _ in range(2):
        press(group, "Closer")
    assert group.run(RANGE) != whole
    assert right_places(group.run(PLACES)) >= 20
    press(group, "Wider")
    assert right_places(group.run(PLACES)) >= 20
    press(group, "All speeds")
    assert group.run(RANGE) == whole
    assert right_places(group.run(PLACES)) >= 20
    assert group.complaints() == []


def test_a_zoom_is_about_the_speed_that_is_read_out_and_the_height_fits(group: Tab) -> None:
    slider = f"{FIGURE}.querySelector('.read-out input')"
    group.run(f"{slider}.value = 10; {slider}.dispatchEvent(new Event('input')); 0")
    speed = at(group.run(ANSWER))
    high = group.run(f"{SHOWN}.dataset.high - {SHOWN}.dataset.low")
    for _ in range(3):
        press(group, "Closer")
    low, last = map(int, re.findall(r"\d+", group.run(RANGE)))
    assert low <= speed <= last
    assert last - low < 20
    assert group.run(f"{SHOWN}.dataset.high - {SHOWN}.dataset.low") < high
    group.run(f"{slider}.value = {slider}.max; {slider}.dispatchEvent(new Event('input')); 0")
    low, last = map(int, re.findall(r"\d+", group.run(RANGE)))
    assert low <= at(group.run(ANSWER)) <= last + 1  # the range follows


def test_a_range_is_chosen_by_dragging_the_mouse(group: Tab) -> None:
    (x0, y), (x1, _) = place(group, 80.0), place(group, 100.0)
    for kind, x in (("mousePressed", x0), ("mouseMoved", x1), ("mouseReleased", x1)):
        group.call(
            "Input.dispatchMouseEvent", type=kind, x=x, y=y, button="left", buttons=1, clickCount=1
        )
    assert group.run(RANGE) == "80 to 100 kt"
    assert right_places(group.run(PLACES)) >= 20


def test_a_click_that_is_no_drag_changes_no_range(group: Tab) -> None:
    before = group.run(RANGE)
    x, y = place(group, 90.0)
    for kind in ("mousePressed", "mouseReleased"):
        group.call(
            "Input.dispatchMouseEvent", type=kind, x=x, y=y, button="left", buttons=1, clickCount=1
        )
    assert group.run(RANGE) == before
    assert at(group.run(ANSWER)) == 90


def test_a_finger_moves_the_read_out_by_tap_and_by_drag(group: Tab) -> None:
    group.show(360)
    group.call("Emulation.setTouchEmulationEnabled", enabled=True)
    group.run(f"{SHOWN}.scrollIntoView()")
    x, y = place(group, 80.0)
    group.call("Input.dispatchTouchEvent", type="touchStart", touchPoints=[{"x": x, "y": y}])
    assert at(group.run(ANSWER)) == 80
    x, y = place(group, 110.0)
    for share in (0.5, 1.0):
        x, y = place(group, 80.0 + 30.0 * share)
        group.call("Input.dispatchTouchEvent", type="touchMove", touchPoints=[{"x": x, "y": y}])
    group.call("Input.dispatchTouchEvent", type="touchEnd", touchPoints=[])
    group.call("Emulation.setTouchEmulationEnabled", enabled=False)
    assert at(group.run(ANSWER)) == 110
    assert group.run("scrollX") == 0


def test_the_read_out_says_what_an_indicated_speed_is_calibrated(own: Tab) -> None:
    words = own.run(ANSWER)
    found = re.fullmatch(
        r"(\d+) kt indicated is ([\d.]+) calibrated: add ([+\u2212]?[\d.]+) kt\. "
        r"This aircraft: ([+\u2212]?[\d.]+) to ([+\u2212]?[\d.]+)\.",
        words,
    )
    assert found, words
    ias, cas, add, low, high = (float(one.replace("\u2212", "-")) for one in found.groups())
    assert cas - ias == pytest.approx(add, abs=0.051)
    assert low <= add <= high


@pytest.mark.parametrize(
    ("words", "gone", "stays"),
    [
        ("95\u00a0% band of this aircraft", ".mean-band", ".mean-line"),
        ("its points", ".point", ".mean-line"),
        ("the group's mean", ".group-mean", ".mean-line"),
        ("95\u00a0% band for another", ".next-edge", ".mean-band"),
        ("points of the others", ".others", ".point"),
    ],
)
def test_what_the_key_names_is_hidden_and_shown_again(
    own: Tab, words: str, gone: str, stays: str
) -> None:
    drawn = f"{SHOWN}.querySelectorAll('%s')[0].getClientRects().length > 0"
    box = (
        f"Array.from({FIGURE}.querySelectorAll('.key label'))"
        f'.find(l => l.textContent.startsWith("{words}")).querySelector("input")'
    )
    assert own.run(drawn % gone)
    own.run(f"{box}.focus()")
    for kind in ("keyDown", "keyUp"):
        own.call("Input.dispatchKeyEvent", type=kind, key=" ", text=" ", windowsVirtualKeyCode=32)
    assert not own.run(drawn % gone)
    assert own.run(drawn % stays)
    own.run(f"{box}.click()")
    assert own.run(drawn % gone)


def test_a_dot_of_another_airframe_has_its_tag_when_it_is_pointed_at(own: Tab) -> None:
    tags = own.run(f"Array.from({SHOWN}.querySelectorAll('.others title')).map(t => t.textContent)")
    assert "C-03" in tags
    assert "C-02" not in tags
    assert len(tags) == len(set(tags))
    pointed = own.run(
        f"""(function (s) {{
        return Array.from(s.querySelectorAll(".others")).flatMap(p =>
          Array.from(p.getAttribute("d").matchAll(/M([-\\d.]+) ([-\\d.]+)h0/g), ([, a, b]) => {{
            const at = new DOMPoint(a, b).matrixTransform(s.getScreenCTM());
            return [at.x, at.y, p.querySelector("title").textContent,
                    document.elementFromPoint(at.x, at.y) === p];
          }}));
        }})({SHOWN})"""
    )
    free = [dot for dot in pointed if dot[3]]
    assert len(free) >= 4
    for x, y, tag, _ in free:
        own.call("Input.dispatchMouseEvent", type="mouseMoved", x=x, y=y)
        assert own.run(f"{FIGURE}.querySelector('.near').textContent") == tag


def test_the_keys_tell_whose_points_are_near_the_speed_that_is_read_out(own: Tab) -> None:
    slider = f"{FIGURE}.querySelector('.read-out input')"
    near = f"{FIGURE}.querySelector('.near').textContent"
    rows = own.run(f"{FIGURE}.dataset.curve").split(";")
    place = [row.split()[0] for row in rows].index("80")
    own.run(f"{slider}.value = {place}; {slider}.dispatchEvent(new Event('input')); 0")
    assert own.run(near).startswith("Others within 1 kt: C-01, C-03, C-04")
    own.run(f"{slider}.value = {place + 5}; {slider}.dispatchEvent(new Event('input')); 0")
    assert own.run(near) == ""


def test_nothing_of_the_figure_is_drawn_outside_its_axes_when_zoomed(own: Tab) -> None:
    for _ in range(3):
        press(own, "Closer")
    clips = own.run(
        f"Array.from({SHOWN}.querySelectorAll('.plot')).map(g => g.getAttribute('clip-path'))"
    )
    assert clips
    assert all(re.fullmatch(r"url\(#[\w-]+-inside\)", one) for one in clips)
    assert own.run(f"getComputedStyle({SHOWN}.querySelector('.lead')).display") == "none"
