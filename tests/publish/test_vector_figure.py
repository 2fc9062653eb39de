"""The drawing of one run is to scale, its residuals too, and its words do not meet."""

from __future__ import annotations

import math

import pytest

from fleetcal.publish.site.content_sortie import RunPicture
from fleetcal.publish.site.vector_figure import vector_figure, vector_figures

TAS, WIND = 80.0, (3.0, 9.0)


def run(residuals: tuple[float | None, ...], tracks: tuple[float, ...]) -> RunPicture:
    return RunPicture(
        run=1,
        legs=tuple(range(1, len(tracks) + 1)),
        ias_kt=75.0,
        tas_kt=TAS,
        wind_east_kt=WIND[0],
        wind_north_kt=WIND[1],
        tips=tuple(
            (
                WIND[0] + (TAS + (one or 0.0)) * math.sin(math.radians(track)),
                WIND[1] + (TAS + (one or 0.0)) * math.cos(math.radians(track)),
            )
            for one, track in zip(residuals, tracks, strict=True)
        ),
        residuals_kt=residuals,
    )


def test_wind_circle_scale_and_bars_are_drawn_to_one_scale() -> None:
    drawn = vector_figure(run((0.4, -0.2, 0.1, -0.3), (0.0, 90.0, 180.0, 270.0)))
    per_kt = drawn["radius"] / TAS
    assert math.dist(drawn["origin"], drawn["middle"]) == pytest.approx(per_kt * math.hypot(*WIND))
    length, words = drawn["scale"]
    assert length == pytest.approx(per_kt * float(words.removesuffix(" kt")))
    for tip, residual in zip(drawn["tips"], (0.4, -0.2, 0.1, -0.3), strict=True):
        bar = math.dist(tip["bar"][1], drawn["middle"]) - drawn["radius"]
        assert bar == pytest.approx(drawn["times"] * per_kt * residual)
        outside = math.dist(tip["place"], drawn["middle"]) - drawn["radius"]
        assert outside == pytest.approx(per_kt * residual)


def test_the_arrow_points_where_the_wind_blows_and_its_words_say_where_it_comes_from() -> None:
    drawn = vector_figure(run((None,) * 3, (0.0, 120.0, 240.0)))
    assert drawn["wind"]["head"][0] == drawn["middle"]
    assert drawn["origin"][1] > drawn["middle"][1]  # it blows to the north
    assert drawn["wind_words"] == "wind 9.5 kt from 198°"
    assert drawn["times"] == 0
    assert [tip["words"] for tip in drawn["tips"]] == ["1", "2", "3"]


def test_no_words_of_legs_on_one_track_lie_on_one_another_or_leave_the_drawing() -> None:
    drawn = vector_figure(run((-0.49, 0.02, -0.44, 0.4, -0.06), (93.0, 8.0, 287.0, 191.0, 92.5)))
    boxes = []
    for tip in drawn["tips"]:
        x, y = tip["words_at"][0], tip["words_at"][1] + tip["drop"]
        wide = 6.2 * len(tip["words"])
        left = {"start": x, "end": x - wide, "middle": x - wide / 2.0}[tip["anchor"]]
        boxes.append((left, y - 10.0, left + wide, y + 2.0))
    for place, one in enumerate(boxes):
        assert one[0] >= 0.0
        assert one[1] >= 0.0
        assert one[2] <= float(drawn["wide"])
        assert one[3] <= float(drawn["high"])
        for other in boxes[place + 1 :]:
            apart = one[2] <= other[0] or other[2] <= one[0] or one[3] <= other[1]
            assert apart or other[3] <= one[1], (one, other)


def test_residuals_of_all_runs_of_a_page_are_drawn_as_many_times_as_long() -> None:
    tracks = (0.0, 90.0, 180.0, 270.0)
    runs = [run((0.01, 0.0, -0.01, 0.0), tracks), run((2.0, -2.0, 2.0, -2.0), tracks)]
    assert vector_figure(runs[0])["times"] == 100
    times = {one["times"] for one in vector_figures(runs)}
    assert times == {vector_figure(runs[1])["times"]}
    assert times != {100}
