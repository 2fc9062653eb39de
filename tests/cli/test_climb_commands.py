"""Climbs and glides by the commands, against the law that was flown."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest

from fleetcal.publish.climb_figure import ClimbPicture, climb_figure
from tests.cli.command_line import Program, assert_explained
from tests.cli.invented_fleet import WING, Group, fleet_toml, points_csv
from tests.cli.invented_glides import CLIMB, GLIDE, best_cas_kt, log_text, rate_mps
from tests.store_places import begun_at, copy_store

FEW = (Group(WING, 4, 0.0, 0.0),)
FTMIN = 0.00508
POWER = ("--quantity", "climb", "--power-state", "full power", "--thrust-kw", "40")
IDLE = ("--quantity", "glide", "--power-state", "idle")


def true_rate(law: tuple[float, float, float], vic_kt: float, weight_kg: float) -> float:
    """Rate in standard air at about 4,000 ft, where TAS is 1.0605 CAS."""
    return float(rate_mps(law, vic_kt, vic_kt * 1.0605 * 1852 / 3600, weight_kg)) / FTMIN


@pytest.fixture(scope="module")
def glided_file(tmp_path_factory: pytest.TempPathFactory) -> str:
    """Four airframes of one pairing, glides and climbs of each; weights differ in glides."""
    folder = tmp_path_factory.mktemp("glided")
    (folder / "fleet.toml").write_text(fleet_toml(FEW), encoding="utf-8")
    program = Program(begun_at(folder / "store.sqlite3"))
    program.output("fleet", "load", folder / "fleet.toml")
    rng = np.random.default_rng(3)
    for number in range(1, 5):
        more, weight = float(rng.normal(0.0, 0.0004)), 560.0 + 10.0 * number
        for law, words, kg, warm in ((GLIDE, IDLE, weight, 8.0), (CLIMB, POWER, 600.0, 0.0)):
            text = log_text(law, weight_kg=kg, more=more, warmer_k=warm, seed=number)
            log = folder / f"{words[1]}{number}.csv"
            log.write_text(text, encoding="utf-8")
            tag = f"C-{number:02d}"
            program.output("reduce", log, "--airframe", tag, *words, "--weight-kg", kg)
    return program.store


@pytest.fixture
def glided(glided_file: str, folder: Path) -> Program:
    return Program(copy_store(glided_file, folder / "store.sqlite3"))


@pytest.mark.parametrize("law", [GLIDE, CLIMB])
def test_a_log_gives_the_rates_that_were_flown(
    program: Program, folder: Path, law: tuple[float, float, float]
) -> None:
    up = law is CLIMB
    log = folder / "saw.csv"
    log.write_text(log_text(law, warmer_k=0.0 if up else 12.0, seed=5), encoding="utf-8")
    words = ("--airframe", "C-03", *(POWER if up else IDLE), "--weight-kg", "600")
    found = program.json("reduce", log, *words)
    assert found["notes"][0].startswith("Temperature taken as what a probe of recovery factor 0.80")
    assert found["notes"][1].startswith(
        "Humidity was not recorded: 55 % relative humidity is taken"
    )
    assert found["found"] == 12
    assert [c["ways"] for c in found["climbs"]] == [2] * 6
    for told in found["climbs"]:
        truth = true_rate(law, told["vic_kt"], 600.0)
        assert told["rate_ftmin"] == pytest.approx(truth, abs=12.0)
        if not up:  # 12 K warmer: 4 % by the tapeline, half of it taken back by density
            assert told["rate_ftmin"] < 1.012 * told["indicated_rate_ftmin"]


@pytest.mark.long
@pytest.mark.parametrize(
    ("kind", "law", "powers"), [("climb", CLIMB, (1.5, 1.0)), ("glide", GLIDE, (1.0, 1.5))]
)
def test_best_speeds_of_the_pool_are_those_of_the_law(
    glided: Program, kind: str, law: tuple[float, float, float], powers: tuple[float, float]
) -> None:
    found = glided.json("curve", "--quantity", kind)
    for told, power in zip(found["speeds"], powers, strict=True):
        truth = best_cas_kt(law, power)
        assert told["low_kt"] < truth < told["high_kt"]
        assert told["cas_kt"] == pytest.approx(truth, abs=1.0)
        assert told["high_kt"] - told["low_kt"] < 9.0
    for row in found["rows"]:
        truth = true_rate(law, row["cas_kt"], 600.0)
        assert row["rate_ftmin"] == pytest.approx(truth, abs=20.0)
        assert row["next_low_ftmin"] < row["mean_low_ftmin"] < row["rate_ftmin"]
    assert "outside" not in {a["verdict"] for a in found["airframes"]}


@pytest.mark.long
@pytest.mark.parametrize(("kind", "law", "power"), [("climb", CLIMB, 1.5), ("glide", GLIDE, 1.0)])
def test_one_airframe_has_best_speeds_and_rates_of_its_own(
    glided: Program, kind: str, law: tuple[float, float, float], power: float
) -> None:
    more = np.random.default_rng(3).normal(0.0, 0.0004, 2)[1]  # as C-02 was drawn
    own = (law[0] + more, *law[1:])
    found = glided.json("curve", "C-02", "--quantity", kind)
    assert found["airframe"] == "C-02"
    assert found["airframes"] == []
    best = found["speeds"][0]
    assert best["cas_kt"] == pytest.approx(best_cas_kt(own, power), abs=1.5)
    for row in found["rows"]:
        assert row["rate_ftmin"] == pytest.approx(true_rate(own, row["cas_kt"], 600.0), abs=30.0)
        assert row["mean_low_ftmin"] < row["rate_ftmin"] < row["mean_high_ftmin"]
    assert "From C-02's own flights alone" in glided.output("curve", "C-02", "--quantity", kind)


def test_an_airframe_without_glides_that_count_is_told_what_to_do(glided: Program) -> None:
    glides = glided.json("points", "list", "--quantity", "glide")["climbs"]
    ids = [one["climb_id"] for one in glides if one["airframe"] == "C-02"]
    glided.output("points", "reject", *ids, "--quantity", "glide", "--reason", "rough air")
    refused = glided.run("curve", "C-02", "--quantity", "glide")
    assert_explained(refused, 5, "C-02 has no glide")
    assert "reduce LOG --airframe C-02" in refused.stderr


def test_the_glide_ratio_is_that_of_the_law(glided: Program) -> None:
    s = (45.0 / best_cas_kt(GLIDE, 1.0)) ** 2
    truth = s / (0.0085 + 0.10 * s**2)
    best = glided.json("curve", "--quantity", "glide")["speeds"][0]
    assert best["ratio"] == pytest.approx(truth, rel=0.03)


@pytest.mark.long
def test_the_figure_shows_the_curve_the_measurements_and_the_best_speeds(
    glided: Program, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    drawn: list[ClimbPicture] = []

    def draw(picture: ClimbPicture, kind: str) -> bytes:
        drawn.append(picture)
        return climb_figure(picture, kind)

    monkeypatch.setattr("fleetcal.services.performance.draw_climbs.climb_figure", draw)
    found = glided.json("curve", "--quantity", "climb", "--out", folder / "climb.svg")
    words = (folder / "climb.svg").read_text(encoding="utf-8")
    (picture,) = drawn
    assert len(picture.points) == found["measurements"]
    for cas_kt, rate_ftmin in picture.points:
        assert rate_ftmin == pytest.approx(true_rate(CLIMB, cas_kt, 600.0), abs=60.0)
    for row in found["rows"]:
        mean = np.interp(row["cas_kt"], picture.curve.ias, picture.curve.mean)
        assert mean == pytest.approx(row["rate_ftmin"], abs=1.0)
    assert len(found["speeds"]) == len(picture.best) == 2
    for one in found["speeds"]:
        best = f"{one['cas_kt']:.1f} kt CAS ({one['low_kt']:.1f} to {one['high_kt']:.1f}, 95 %)"
        assert f"{one['speed']}: {best}, +{one['rate_ftmin']:.0f} ft/min" in words


@pytest.mark.long
def test_what_the_port_shows_is_solved_for_once_its_curve_is_known(
    glided: Program, folder: Path
) -> None:
    points = folder / "points.csv"
    text = points_csv(FEW, speeds_kt=(50.0, 65.0, 80.0, 95.0, 110.0))
    points.write_text(text, encoding="utf-8")
    before = glided.json("curve", "--quantity", "glide")
    assert "CAS is taken as IAS" in " ".join(before["notes"])
    assert before["speeds"][0]["ias_kt"] is None
    glided.output("points", "import", points)
    after = glided.json("curve", "--quantity", "glide")
    assert after["notes"] == []
    told = after["speeds"][0]
    curve = glided.json("curve", WING)
    ias = [row["ias_kt"] for row in curve["rows"] if row["cas_kt"] is not None]
    cas = [row["cas_kt"] for row in curve["rows"] if row["cas_kt"] is not None]
    assert told["ias_kt"] == pytest.approx(np.interp(told["cas_kt"], cas, ias), abs=0.1)


def test_no_cas_is_told_where_nobody_flew_the_curve_of_the_port(
    glided: Program, folder: Path
) -> None:
    points = folder / "points.csv"
    points.write_text(points_csv(FEW, speeds_kt=(62.0, 75.0, 90.0, 110.0)), encoding="utf-8")
    glided.output("points", "import", points)
    found = glided.json("curve", "--quantity", "glide")
    assert "left out: at their speed the curve of the port was not flown" in found["left_out"][0]
    assert found["measurements"] == 16  # of 24; not those at 52 and 58 kt


def test_climbs_at_speeds_without_any_cas_are_explained(glided: Program, folder: Path) -> None:
    points = folder / "points.csv"
    points.write_text(points_csv(FEW, speeds_kt=(112.0, 118.0, 125.0)), encoding="utf-8")
    glided.output("points", "import", points)
    result = glided.run("curve", "--quantity", "glide")
    assert_explained(result, 5, "too few glides at speeds where the curve of the port is known")


@pytest.mark.long
def test_a_handbook_that_names_another_glide_speed_stands_beside(
    glided: Program, folder: Path
) -> None:
    (folder / "table.csv").write_text("ias_kt,cas_kt\n50,52\n110,112\n", encoding="utf-8")
    (folder / "speeds.csv").write_text(
        "speed,ias_kt\nglide,70\nbest rate of climb,72\nnever exceed,141\n", encoding="utf-8"
    )
    words = ("--name", "first", "--static-source", WING, "--speeds", folder / "speeds.csv")
    glided.output("handbook", "enter", folder / "table.csv", *words)
    (told,) = glided.json("curve", "--quantity", "glide")["handbook"]
    assert told["handbook_cas_kt"] == pytest.approx(72.0)
    truth = 72.0 - best_cas_kt(GLIDE, 1.0)
    assert told["low_kt"] < truth < told["high_kt"] < 0.0
    (climb,) = glided.json("curve", "--quantity", "climb")["handbook"]
    assert climb["low_kt"] < 74.0 - best_cas_kt(CLIMB, 1.5) < climb["high_kt"]
    assert "Handbook's CAS minus the pooled curve's" in glided.output(
        "curve", "--quantity", "glide"
    )


@pytest.mark.long
def test_an_airframe_that_sinks_faster_is_told(folder: Path) -> None:
    log = folder / "odd.csv"
    program = Program(begun_at(folder / "odd.sqlite3"))
    (folder / "fleet.toml").write_text(fleet_toml((Group(WING, 8, 0.0, 0.0),)), encoding="utf-8")
    program.output("fleet", "load", folder / "fleet.toml")
    for number in range(1, 9):
        text = log_text(GLIDE, more=-0.008 if number == 4 else 0.0, weight_kg=600.0, seed=number)
        log.write_text(text, encoding="utf-8")
        words = ("--airframe", f"C-{number:02d}", *IDLE, "--weight-kg", "600")
        program.output("reduce", log, *words)
    found: dict[str, Any] = program.json("curve", "--quantity", "glide")
    outside = [a for a in found["airframes"] if a["verdict"] == "outside"]
    assert [a["airframe"] for a in outside] == ["C-04"]
    assert outside[0]["departure_ftmin"] < -150.0
    judged = program.json("outliers", "--quantity", "glide")
    assert [a["airframe"] for a in judged["airframes"] if a["outside"]] == ["C-04"]
    failing = ("outliers", "--quantity", "glide", "--fail-if-outside")
    assert program.run(*failing).exit_code == 6
    alone = program.json("standing", "C-04", "--quantity", "glide")
    (told,) = alone["airframes"]
    for row in told["rows"]:  # what was planted, in air that is standard at about 4,000 ft
        planted = true_rate((-0.008, 0.0, 0.0), row["cas_kt"], 600.0)
        assert row["low_ftmin"] < planted < row["high_ftmin"]
    assert "sinks" in told["reason"]
    assert "faster than the group" in told["reason"]
    said = program.output("standing", "C-04", "--quantity", "glide", "--details")
    assert "the measurements that count most in its largest departure" in said
    assert "C-03" not in said


@pytest.mark.long
@pytest.mark.parametrize(("more", "word"), [(0.0, "do not show a difference"), (-0.006, "differ:")])
def test_pairings_are_pooled_apart_and_it_is_told_whether_they_differ(
    folder: Path, more: float, word: str
) -> None:
    program = Program(begun_at(folder / "two.sqlite3"))
    described = fleet_toml((Group(WING, 8, 0.0, 0.0),))
    head, *planes = described.split("[[airframe]]")
    head += '[[propeller]]\nname = "three-blade constant-speed"\n'
    planes[4:] = [p.replace("two-blade fixed", "three-blade constant-speed") for p in planes[4:]]
    (folder / "fleet.toml").write_text("[[airframe]]".join([head, *planes]), encoding="utf-8")
    program.output("fleet", "load", folder / "fleet.toml")
    rng = np.random.default_rng(4)
    for number in range(1, 9):
        own = float(rng.normal(0.0, 0.0005)) + (more if number > 4 else 0.0)
        log = folder / "glides.csv"
        log.write_text(log_text(GLIDE, more=own, seed=number), encoding="utf-8")
        words = ("--airframe", f"C-{number:02d}", *IDLE, "--weight-kg", "600")
        program.output("reduce", log, *words)
    assert_explained(program.run("curve", "--quantity", "glide"), 3, "several pairings")
    pairing = "75 kW four / three-blade constant-speed"
    found = program.json("curve", pairing, "--quantity", "glide")
    assert len(found["airframes"]) == 4
    assert f"the 2 pairings flown {word}" in found["notes"][0]
    s = np.linspace(0.1, 0.7, 10_001)
    truth = float(np.max(s / (0.0085 - more + 0.10 * s**2)))
    assert found["speeds"][0]["ratio"] == pytest.approx(truth, rel=0.06)


def test_the_same_log_adds_nothing(program: Program, folder: Path) -> None:
    log = folder / "saw.csv"
    log.write_text(log_text(GLIDE, speeds_kt=(58.0, 76.0), seed=2), encoding="utf-8")
    words = ("reduce", log, "--airframe", "C-03", "--weight-kg", "600")
    assert program.json(*words, *IDLE)["stored"]
    again = program.json(*words, *IDLE)
    assert (again["stored"], again["known_already"]) == (False, True)
    assert (
        len(program.json("points", "list", "--quantity", "climb", "--quantity", "glide")["climbs"])
        == 2
    )
    stopped = ("--quantity", "glide", "--power-state", "stopped")
    assert_explained(program.run(*words, *stopped), 3, "stored as idle")


@pytest.mark.long
@pytest.mark.parametrize("first", ["climbs", "points"])
def test_points_and_climbs_of_one_log_go_in_in_either_order_and_once(
    program: Program, folder: Path, first: str
) -> None:
    log = folder / "both.csv"
    log.write_text(log_text(GLIDE, speeds_kt=(58.0, 76.0), box_kt=(80.0, 100.0)), encoding="utf-8")
    about = (log, "--airframe", "C-03", "--weight-kg", "590")
    commands = {"climbs": ("reduce", *about, *IDLE), "points": ("reduce", *about)}
    order = [first, *(name for name in commands if name != first)]
    for name in order:
        assert program.json(*commands[name], "--note", name)["stored"], name
    for name in order:
        again = program.json(*commands[name])
        assert (again["stored"], again["known_already"]) == (False, True), name
    points = program.json("points", "list")["points"]
    climbs = program.json("points", "list", "--quantity", "climb", "--quantity", "glide")["climbs"]
    assert len(points) == 2
    assert len(climbs) == 2
    assert len({row["sortie_id"] for row in (*points, *climbs)}) == 1
    assert {row["weight_kg"] for row in points} == {590.0}
    assert program.run("store", "check").exit_code == 0


def test_a_folder_takes_the_points_of_a_log_whose_climbs_are_known(
    program: Program, folder: Path
) -> None:
    logs = folder / "logs"
    logs.mkdir()
    log = logs / "both.csv"
    log.write_text(log_text(GLIDE, speeds_kt=(58.0,), box_kt=(80.0,)), encoding="utf-8")
    program.output("reduce", log, "--airframe", "C-03", *IDLE, "--weight-kg", "590")
    words = ("reduce", logs, "--airframe", "C-03", "--weight-kg", "590", "--processes", "1")
    for stored, known in ((1, 0), (0, 1)):
        done = program.json(*words)
        assert (done["stored"], done["known"]) == (stored, known)


def test_points_of_another_day_than_the_climbs_of_the_same_log_are_refused(
    program: Program, folder: Path
) -> None:
    log = folder / "both.csv"
    log.write_text(log_text(GLIDE, speeds_kt=(58.0,), box_kt=(80.0,)), encoding="utf-8")
    about = (log, "--airframe", "C-03", "--weight-kg", "590")
    program.output("reduce", *about, *IDLE)
    result = program.run("reduce", *about, "--date", "2024-05-03")
    assert_explained(result, 3, "its climbs and glides are stored as flown on 2024-05-02")
    assert program.json("points", "list")["points"] == []


def test_two_power_states_of_one_flight_are_told_apart_by_time(
    program: Program, folder: Path
) -> None:
    log = folder / "saw.csv"
    text = log_text(GLIDE, speeds_kt=(58.0, 76.0), seed=2)
    log.write_text(text, encoding="utf-8")
    half = str(text.count("\n") // 2)
    words = ("reduce", log, "--airframe", "C-03", "--quantity", "glide", "--weight-kg", "600")
    assert program.json(*words, "--power-state", "idle", "--between-s", f"..{half}")["found"] == 2
    assert (
        program.json(*words, "--power-state", "stopped", "--between-s", f"{half}..")["found"] == 2
    )
    rows = program.json("points", "list", "--quantity", "climb", "--quantity", "glide")["climbs"]
    assert [row["power_state"] for row in rows] == ["idle", "stopped"]
    assert [row["number"] for row in rows] == [1, 2]
    assert len({row["sortie_id"] for row in rows}) == 1


def test_a_preview_stores_nothing(program: Program, folder: Path) -> None:
    log = folder / "saw.csv"
    log.write_text(log_text(GLIDE, speeds_kt=(58.0,), seed=2), encoding="utf-8")
    words = ("reduce", log, "--airframe", "C-03", *IDLE)
    assert "Nothing is stored" in program.output(*words, "--preview", "--weight-kg", "600")
    assert (
        program.json("points", "list", "--quantity", "climb", "--quantity", "glide")["climbs"] == []
    )


def test_glides_flown_one_way_are_kept_and_not_accepted(program: Program, folder: Path) -> None:
    log = folder / "saw.csv"
    text = log_text(GLIDE, speeds_kt=(58.0, 70.0, 82.0), both=False, seed=2)
    log.write_text(text, encoding="utf-8")
    words = ("--airframe", "C-03", *IDLE, "--weight-kg", "600")
    said = program.output("reduce", log, *words)
    assert "not accepted: no partner on the opposite heading" in said
    result = program.run("curve", "--quantity", "glide")
    assert_explained(result, 5, "no pairing has accepted glides of 3 airframes")


def test_climbs_flown_one_way_count_with_an_allowance_for_the_wind(
    program: Program, folder: Path
) -> None:
    log = folder / "saw.csv"
    text = log_text(GLIDE, speeds_kt=(58.0, 70.0, 82.0), both=False, seed=2)
    log.write_text(text, encoding="utf-8")
    words = ("--airframe", "C-03", *IDLE, "--weight-kg", "600", "--preview")
    alone = program.json("reduce", log, *words)["climbs"]
    allowed = ("--allow-gradient-kt-per-1000ft", "4")
    wide = program.json("reduce", log, *words, *allowed)["climbs"]
    assert [c["accepted"] for c in alone] == [False] * 3
    assert [c["accepted"] for c in wide] == [True] * 3
    for before, after in zip(alone, wide, strict=True):
        # V dw/dh / g of the rate: 4 kt in 1,000 ft at some 75 kt are 2.7 %
        tas = after["vic_kt"] * 1.0605 * 1852 / 3600
        share = tas / 9.80665 * 4.0 * (1852 / 3600) / 304.8
        added = abs(after["rate_ftmin"]) * share
        expected = np.hypot(before["u_shared_ftmin"], added)
        assert after["u_shared_ftmin"] == pytest.approx(expected, rel=0.02)
        truth = true_rate(GLIDE, after["vic_kt"], 600.0)  # 2.4 kt in 1,000 ft were flown
        assert abs(after["rate_ftmin"] - truth) < 2.0 * np.hypot(added, 12.0)


def test_only_the_band_of_altitude_that_is_asked_for_counts(program: Program, folder: Path) -> None:
    log = folder / "saw.csv"
    log.write_text(log_text(GLIDE, speeds_kt=(58.0, 70.0), seed=2), encoding="utf-8")
    words = ("--airframe", "C-03", *IDLE, "--weight-kg", "600", "--preview")
    band = ("--between-ft", "3900..4400")
    for told in program.json("reduce", log, *words, *band)["climbs"]:
        assert told["pressure_altitude_ft"] == pytest.approx(4150.0, abs=30.0)
        assert told["rate_ftmin"] == pytest.approx(true_rate(GLIDE, told["vic_kt"], 600.0), abs=25)
    nothing = program.run("reduce", log, *words, "--between-ft", "6000..")
    assert_explained(nothing, 37, "no steady glide was found")
    wrong = program.run("reduce", log, *words, "--between-ft", "4000..3000")
    assert wrong.exit_code == 2


def test_tolerances_come_from_the_settings_file(program: Program, folder: Path) -> None:
    log, settings = folder / "saw.csv", folder / "settings.toml"
    log.write_text(log_text(GLIDE, speeds_kt=(58.0, 70.0), seed=2), encoding="utf-8")
    assert "[climbs]" in program.output("settings")
    settings.write_text("[climbs]\nshortest_s = 300\n", encoding="utf-8")
    words = ("--airframe", "C-03", *IDLE, "--weight-kg", "600", "--preview")
    result = program.run("reduce", log, *words, "--settings", settings)
    assert_explained(result, 37, "no steady glide was found")
    settings.write_text("[climbs]\nopposite_deg = 1\n", encoding="utf-8")
    found = program.json("reduce", log, *words, "--settings", settings)
    assert {c["ways"] for c in found["climbs"]} == {1}


@pytest.mark.long
def test_a_rejected_glide_leaves_the_pool_with_its_reason_and_comes_back(glided: Program) -> None:
    rows = glided.json("points", "list", "--quantity", "glide", "--airframe", "C-02")["climbs"]
    whole = glided.json("curve", "--quantity", "glide")
    one, two = rows[0]["climb_id"], rows[1]["climb_id"]
    assert "2 climbs or glides rejected" in glided.output(
        "points", "reject", "--quantity", "glide", one, two, "--reason", "flown through a wave"
    )
    less = glided.json("curve", "--quantity", "glide")
    assert less["measurements"] == whole["measurements"] - 2
    assert less["left_out"] == ["2 glides of C-02: flown through a wave"]
    listed = glided.json(
        "points", "list", "--quantity", "climb", "--quantity", "glide", "--rejected"
    )["climbs"]
    assert [row["climb_id"] for row in listed] == [one, two]
    said = glided.output("standing", "C-02", "--quantity", "glide")
    assert "Left out: 2 glides of C-02: flown through a wave" in said
    history = glided.output("show", "history", "--airframe", "C-02")
    assert "points reject" in history
    glided.output("points", "accept", "--quantity", "glide", one, two)
    assert glided.json("curve", "--quantity", "glide")["rows"] == whole["rows"]
    unknown = glided.run("points", "reject", "--quantity", "glide", one, 9999, "--reason", "no")
    assert_explained(unknown, 35, "no climb or glide 9999")
    assert_explained(
        glided.run("points", "reject", "--quantity", "glide", one, "--reason", " "), 3, "reason"
    )
    assert (
        glided.json("points", "list", "--quantity", "climb", "--quantity", "glide", "--rejected")[
            "climbs"
        ]
        == []
    )


def test_what_cannot_be_reduced_is_explained(program: Program, folder: Path) -> None:
    log = folder / "saw.csv"
    log.write_text(log_text(GLIDE, speeds_kt=(58.0,), seed=2), encoding="utf-8")
    words = ("reduce", log, "--weight-kg", "600")
    full = ("--quantity", "climb", "--power-state", "full power")
    assert_explained(program.run(*words, "--airframe", "C-03", *full), 3, "thrust power")
    assert_explained(program.run(*words, "--airframe", "C-99", *IDLE), 35, "C-99")
    program.output(*words, "--airframe", "C-03", *IDLE)
    assert_explained(program.run(*words, "--airframe", "C-04", *IDLE), 3, "stored for C-03")
    assert_explained(program.run("curve", "--quantity", "climb"), 5, "no climb")


def test_climbs_of_a_log_that_states_no_unit_of_speed_are_not_accepted(
    program: Program, folder: Path
) -> None:
    head, *rows = log_text(GLIDE, weight_kg=600.0, seed=5).splitlines()
    bare = head.replace(" (kt)", "")
    assert bare != head
    (folder / "saw.csv").write_text("\n".join([bare, *rows]), encoding="utf-8")
    words = ("--airframe", "C-03", *IDLE, "--weight-kg", "600")
    result = program.run("reduce", folder / "saw.csv", *words)
    assert "states no unit; kt is assumed" in result.stderr
    found = program.json("points", "list", "--quantity", "climb", "--quantity", "glide")["climbs"]
    assert found
    assert not any(climb["accepted"] for climb in found)
    assert all("no unit is written with" in climb["reason"] for climb in found)


def test_a_noted_temperature_makes_a_glide_less_sure(program: Program, folder: Path) -> None:
    text = log_text(GLIDE, speeds_kt=(58.0,), seed=2)
    heads = text.splitlines()[0].split(",")
    place = heads.index("OAT (degC)")
    rows = [line.split(",") for line in text.splitlines()]
    degrees = float(np.median([float(row[place]) for row in rows[1:]]))
    (folder / "saw.csv").write_text(text, encoding="utf-8")
    bare = "\n".join(",".join(cell for i, cell in enumerate(row) if i != place) for row in rows)
    (folder / "bare.csv").write_text(f"{bare}\n", encoding="utf-8")
    words = ("--airframe", "C-03", *IDLE, "--weight-kg", "600", "--preview")
    (logged,) = program.json("reduce", folder / "saw.csv", *words)["climbs"]
    done = program.json("reduce", folder / "bare.csv", *words, "--oat", f"{degrees:.1f}")
    (noted,) = done["climbs"]
    assert noted["rate_ftmin"] == pytest.approx(logged["rate_ftmin"], abs=10.0)
    # 1.5 K for being noted once beside the thermometer's 1 K
    assert abs(noted["u_shared_ftmin"]) > 1.6 * abs(logged["u_shared_ftmin"])
    assert any("the one noted" in note for note in done["notes"])
