from __future__ import annotations

import os
import re
import struct
import subprocess
import sys
import xml.etree.ElementTree as ElementTree
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from fleetcal.publish.cautions import PITOT_ASSUMPTION, SHORT_CAUTION
from fleetcal.publish.flight_figure import flight_figure
from fleetcal.publish.flight_history_axes import run_spans
from fleetcal.publish.flight_picture import FlightPicture
from fleetcal.publish.run_axes import bar_points_per_kt
from tests.publish.invented_flight import (
    invented_history,
    invented_picture,
    pictured_leg,
    pictured_run,
)

SVG = "{http://www.w3.org/2000/svg}"


def drawn(**changes: Any) -> str:
    return flight_figure(invented_picture(**changes), "svg").decode()


def words_of(svg: str) -> list[str]:
    return ["".join(node.itertext()) for node in ElementTree.fromstring(svg).iter(f"{SVG}text")]


def test_the_figure_says_what_was_found_and_solved() -> None:
    words = words_of(drawn())
    text = " ".join(words)
    for wanted in (
        "C-07, 2024-05-02, invented.csv",
        "flaps up; 580 kg",
        "airspeed, kt",
        "altitude, ft",
        "track, deg",
        "time from the first sample, min",
        "run 1: 92.0 kt indicated",
        "true airspeed 100.0 kt",
        "wind 10.0 kt from 143°",
        "kappa \u22120.0123, u 0.0061",
        "correction to add \u22120.56 kt, U95 0.62 kt",
        "residual 0.62 kt by 1 spare leg",
        "1: \u22120.31",
        "2: +0.31",
        SHORT_CAUTION,
        PITOT_ASSUMPTION,
    ):
        assert wanted in text, wanted
    assert words.count("run 1") == words.count("run 2") == 1
    assert words.count("3") == 2, "each run numbers its third leg against time"


@pytest.mark.long
def test_the_figure_loads_nothing_and_carries_no_date_of_its_own() -> None:
    svg = drawn(title="no day")
    outside = re.sub(r'xmlns(:\w+)?="[^"]*"', "", svg)
    assert "http" not in outside
    assert "url(" not in re.sub(r"url\(#[\w-]+\)", "", outside)
    assert "<!--" not in svg
    assert "metadata" not in svg
    assert not re.search(r"20\d\d-\d\d-\d\d", svg)


@pytest.mark.long
@pytest.mark.parametrize("kind", ["svg", "png", "pdf"])
def test_the_figure_is_the_same_bytes_in_another_process_with_other_settings(
    kind: str, tmp_path
) -> None:
    (tmp_path / "matplotlibrc").write_text("axes.facecolor: red\nfont.size: 30\nsavefig.dpi: 30\n")
    code = (
        "import sys; from tests.publish.invented_flight import invented_picture\n"
        "from fleetcal.publish.flight_figure import flight_figure\n"
        f"sys.stdout.buffer.write(flight_figure(invented_picture(), {kind!r}))"
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
    assert other == flight_figure(invented_picture(), kind)


@pytest.mark.long
def test_each_kind_of_file_is_what_its_ending_says() -> None:
    picture = invented_picture()
    assert flight_figure(picture, "pdf").startswith(b"%PDF")
    png = flight_figure(picture, "png")
    assert png.startswith(b"\x89PNG")
    width, height = struct.unpack(">II", png[16:24])
    assert width == 1600
    assert height > 1000


def test_names_from_outside_are_escaped_and_not_taken_for_formulas() -> None:
    svg = drawn(title="<b>&\x00 $x^2$", facts='"]]><script>alert(1)</script>')
    assert "<script" not in svg
    assert any("$x^2$" in words for words in words_of(svg))


PICTURES: dict[str, dict[str, Any]] = {
    "legs by hand": {"history": None, "runs": (pictured_run(1, None),)},
    "one run": {"runs": (pictured_run(1, 100.0),)},
    "many runs": {"runs": tuple(pictured_run(n, 60.0 * n) for n in range(1, 12))},
    "three legs": {
        "runs": (
            replace(
                pictured_run(1, 100.0),
                residual_kt=None,
                legs=tuple(pictured_leg(1, n, 100.0 * n, residual_kt=None) for n in (1, 2, 3)),
            ),
        )
    },
    "a manoeuvre": {
        "runs": (
            pictured_run(
                3, None, legs=(), samples_kt=np.ones((2, 50)), start_s=100.0, stop_s=150.0
            ),
        )
    },
    "no residual at all": {
        "runs": (
            replace(
                pictured_run(1, 100.0),
                legs=tuple(pictured_leg(1, n, 100.0 * n, residual_kt=0.0) for n in range(1, 5)),
            ),
        )
    },
    "gaps in the log": {
        "history": replace(invented_history(), airspeed_kt=np.full(1200, np.nan)),
    },
    "no wind": {"runs": (pictured_run(1, 100.0, wind_speed_kt=0.0),)},
}


@pytest.mark.parametrize("changes", PICTURES.values(), ids=PICTURES)
def test_a_figure_is_drawn_from_anything(changes: dict[str, Any]) -> None:
    ElementTree.fromstring(drawn(**changes))


def test_three_legs_are_said_to_leave_no_residual() -> None:
    words = " ".join(words_of(drawn(**PICTURES["three legs"])))
    assert "three legs leave no residual" in words
    assert "1: " not in words.replace("run 1: ", "")


@pytest.mark.long
def test_a_run_that_is_not_accepted_says_so_with_its_reason() -> None:
    run = pictured_run(1, 100.0, reason="spare legs disagree by 4.8 kt where 1.1 kt is expected")
    words = " ".join(words_of(drawn(runs=(run,))))
    assert "NOT ACCEPTED: spare legs disagree by" in words
    assert "NOT ACCEPTED" not in " ".join(words_of(drawn()))


@pytest.mark.long
def test_legs_that_were_not_used_are_marked_and_explained_only_when_there_are_any() -> None:
    assert "Hatched" not in drawn()
    assert "Crossed" not in drawn()
    refused = pictured_leg(3, 1, 900.0)
    dropped = pictured_leg(1, 9, 1000.0, left_out=True)
    svg = drawn(other_legs=(refused, dropped))
    assert "Hatched: found, but not in a solved run." in svg
    assert "Crossed: left out by hand." in svg
    assert "(9)" in words_of(svg)
    assert svg.count("<pattern") >= 2


def test_labels_of_runs_that_overlap_in_time_stand_on_different_levels() -> None:
    def levels(*starts: float) -> list[int]:
        runs = tuple(pictured_run(n, start) for n, start in enumerate(starts, 1))
        return [span.level for span in run_spans(invented_picture(runs=runs))]

    assert levels(100.0, 700.0) == [0, 0]
    assert levels(100.0, 200.0, 300.0) == [0, 1, 2]
    assert levels(100.0, 200.0, 900.0) == [0, 1, 0]


def test_bars_of_residuals_have_one_scale_and_never_blow_up_rounding() -> None:
    def of(residual_kt: float) -> float:
        legs = (pictured_leg(1, 1, 0.0, residual_kt=residual_kt),)
        return bar_points_per_kt((pictured_run(1, 0.0, legs=legs),))

    assert of(6.0) * 6.0 == pytest.approx(of(-1.0) * 1.0)
    assert of(1e-12) == of(0.0) == of(0.01)


@pytest.mark.long
def test_what_the_figure_shows_is_told_to_those_who_cannot_see_it() -> None:
    root = ElementTree.fromstring(drawn())
    description = root.find(f"{SVG}desc")
    assert description is not None
    assert "run 2 at 93.0 kt indicated: true airspeed 100.0 kt" in (description.text or "")
    assert root.get("role") == "img"
    assert isinstance(invented_picture(), FlightPicture)
