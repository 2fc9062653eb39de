"""A temperature or an altimeter setting that was noted in the cockpit and not logged."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from tests.cli.command_line import Program, assert_explained
from tests.cli.hand_legs import leg_sheet
from tests.cli.invented_sortie import Card, Truth, fly, log_text

WHO = ("--airframe", "C-01", "--weight-kg", "580")
# Shown with 1002 hPa set, an altimeter reads lower than with 1013.25 hPa, by hand with the
# pressure and height of the standard atmosphere (ISO 2533:1975; ICAO Doc 7488/3, 1993):
# 288.15 K / 0.0065 K/m x (1 - (1002/1013.25)^0.190263) = 44331 m x 0.0021221 = 94.07 m = 308.6 ft.
SET_TO_1002_FT = 308.6
PRESSURE_ALTITUDE, OAT = "pressure altitude (ft)", "OAT (degC)"


@pytest.fixture(scope="module")
def rows() -> list[list[str]]:
    """A log as cells, its headings first."""
    text = log_text(fly(Card(airspeeds_kt=(75.0, 110.0)), Truth(roughness=0.5)))
    return [line.split(",") for line in text.splitlines()]


@pytest.fixture
def written(folder: Path, rows: list[list[str]]) -> Callable[..., Path]:
    """Return a function that writes the log without its temperature, or with other altitudes."""

    def write(name: str, *, oat: bool = True, altitude: str = "", lower_ft: float = 0.0) -> Path:
        heads = rows[0]
        heights, warmth = heads.index(PRESSURE_ALTITUDE), heads.index(OAT)
        lines = []
        for row in rows:
            cells = list(row)
            if row is heads:
                cells[heights] = altitude or PRESSURE_ALTITUDE
            elif lower_ft:
                cells[heights] = f"{float(cells[heights]) - lower_ft:.1f}"
            if not oat:
                del cells[warmth]
            lines.append(",".join(cells))
        path = folder / name
        path.write_text("\n".join(lines) + "\n")
        return path

    return write


def median_oat(rows: list[list[str]]) -> float:
    column = rows[0].index(OAT)
    height = rows[0].index(PRESSURE_ALTITUDE)
    level = [float(r[column]) for r in rows[1:] if float(r[height]) > 3500.0]
    return float(np.median(level))


def test_a_noted_temperature_gives_the_logged_one_s_answer_less_surely(
    program: Program, rows: list[list[str]], written: Callable[..., Path]
) -> None:
    logged = program.json("reduce", written("logged.csv"))
    noted = program.json(
        "reduce", written("noted.csv", oat=False), "--oat", f"{median_oat(rows):.2f}C"
    )
    for one, other in zip(logged["runs"], noted["runs"], strict=True):
        assert other["dvpc_kt"] == pytest.approx(one["dvpc_kt"], abs=0.15)
        assert other["oat_degc"] == pytest.approx(one["oat_degc"], abs=0.5)
        u = {run: next(t for t in data["terms"] if t["name"] == "outside-air temperature")
             for run, data in (("one", one), ("other", other))}  # fmt: skip
        # 1 K of a logged one; with 1.5 K of a noted one, and the slope with height, more
        ratio = abs(u["other"]["u_kappa"] / u["one"]["u_kappa"])
        assert 0.99 * np.hypot(1.0, 1.5) < ratio < 2.5
        assert other["U95_as_read_kt"] > one["U95_as_read_kt"]
    assert any("the one noted" in doubt for doubt in noted["doubts"])
    assert any("the one noted" in note for note in noted["notes"])
    assert not any("noted" in note for note in logged["notes"])


@pytest.mark.long
def test_fahrenheit_and_celsius_say_the_same(
    program: Program, written: Callable[..., Path]
) -> None:
    log = written("flight.csv", oat=False)
    celsius, plain, fahrenheit, long = (
        program.json("reduce", log, option, value)["runs"]
        for option, value in (
            ("--oat", "10C"),
            ("--oat", "10"),
            ("--oat", "50F"),
            ("--oat-degc", "10"),
        )
    )
    for runs in (plain, fahrenheit, long):
        assert [r["kappa"] for r in runs] == pytest.approx([r["kappa"] for r in celsius], abs=1e-12)


@pytest.mark.parametrize("setting", ["1002", "1002hPa", "29.5891", "29.5891 inHg"])
@pytest.mark.parametrize("heading", ["indicated altitude (ft)", "altitude (ft)"])
def test_a_noted_setting_brings_an_altimeter_to_pressure_altitude(
    program: Program, written: Callable[..., Path], setting: str, heading: str
) -> None:
    logged = program.json("reduce", written("logged.csv"))["runs"]
    low = written("low.csv", altitude=heading, lower_ft=SET_TO_1002_FT)
    noted = program.json("reduce", low, "--altimeter-setting", setting)
    for one, other in zip(logged, noted["runs"], strict=True):
        assert other["pressure_altitude_ft"] == pytest.approx(one["pressure_altitude_ft"], abs=0.3)
        assert other["dvpc_kt"] == pytest.approx(one["dvpc_kt"], abs=0.01)
    assert any("setting noted, 1002.0 hPa" in warning for warning in noted["warnings"])


def test_without_them_the_hint_names_the_options(
    program: Program, written: Callable[..., Path]
) -> None:
    cold = program.run("reduce", written("flight.csv", oat=False))
    assert_explained(cold, 33, "outside air temperature")
    assert "--oat 8C" in cold.stderr
    low = written("low.csv", altitude="indicated altitude (ft)")
    unset = program.run("reduce", low)
    assert_explained(unset, 33, "pressure altitude")
    assert "--altimeter-setting 1002" in unset.stderr


def test_what_is_logged_goes_before_what_is_noted_and_a_clash_is_named(
    program: Program, rows: list[list[str]], written: Callable[..., Path]
) -> None:
    log = written("flight.csv")
    plain = program.json("reduce", log)
    words = ("--oat", f"{median_oat(rows) + 9.0:.0f}C", "--altimeter-setting", "1002")
    both = program.json("reduce", log, *words)
    assert [r["kappa"] for r in both["runs"]] == [r["kappa"] for r in plain["runs"]]
    temperature, setting = both["warnings"][-2:] if len(both["warnings"]) > 1 else ("", "")
    assert "a temperature is logged, so the noted" in temperature
    assert "the log shows" in temperature
    assert "pressure altitude is logged, so the altimeter setting noted" in setting


def test_a_temperature_of_no_weather_is_refused(
    program: Program, written: Callable[..., Path]
) -> None:
    log = written("flight.csv", oat=False)
    hot = program.run("reduce", log, "--oat", "59")
    assert_explained(hot, 36, "59 degC")
    assert "8C or 46F" in hot.stderr
    for option, value in (
        ("--oat", "warm"),
        ("--oat", "90C"),
        ("--altimeter-setting", "500"),
        ("--altimeter-setting", "29.92hPa"),
    ):
        result = program.run("reduce", log, option, value)
        assert result.exit_code == 2
        assert value in result.stderr


def test_a_sheet_of_legs_takes_both(program: Program, folder: Path) -> None:
    text = leg_sheet()
    heads = text.splitlines()[0].split(",")
    warmth = next(i for i, name in enumerate(heads) if "oat" in name.lower())
    height = next(i for i, name in enumerate(heads) if "alt" in name.lower())
    (folder / "legs.csv").write_text(text)
    (run,) = program.json("reduce", folder / "legs.csv")["runs"]
    lines = []
    for number, line in enumerate(text.splitlines()):
        cells = line.split(",")
        low = "altitude_ft" if number == 0 else f"{float(cells[height]) - SET_TO_1002_FT:.1f}"
        cells[height] = low
        del cells[warmth]
        lines.append(",".join(cells))
    (folder / "bare.csv").write_text("\n".join(lines) + "\n")
    words = ("--oat", f"{run['oat_degc']:.3f}", "--altimeter-setting", "1002")
    (other,) = program.json("reduce", folder / "bare.csv", *words)["runs"]
    assert other["pressure_altitude_ft"] == pytest.approx(run["pressure_altitude_ft"], abs=0.2)
    assert other["dvpc_kt"] == pytest.approx(run["dvpc_kt"], abs=0.05)
    assert other["U95_as_read_kt"] > run["U95_as_read_kt"]


@pytest.mark.long
def test_what_was_noted_is_kept_and_asked_again(
    program: Program, folder: Path, written: Callable[..., Path]
) -> None:
    log = written("low.csv", oat=False, altitude="altitude (ft)", lower_ft=SET_TO_1002_FT)
    noted = ("--oat", "7C", "--altimeter-setting", "1002")
    program.output("reduce", log, *WHO, *noted)
    shown = program.json("reduce", "--again", log)
    assert {flight["outcome"] for flight in shown["flights"]} == {"alike"}
    warmer = program.json("reduce", "--again", log, "--oat", "50F")
    (flight,) = warmer["flights"]
    assert flight["outcome"] == "would change"
    assert "7 degC noted before, 10 degC noted now" in flight["moved"]
    words = ("--oat", "9C", "--altimeter-setting", "1002")
    known = program.json("reduce", log, *WHO, *words)
    (other,) = known["asked_otherwise"]
    assert (other["option"], other["stored"], other["given"]) == ("--oat-degc", "7", "9")
    assert "--oat-degc" in known["again_words"]


def test_a_list_of_flights_may_say_both(
    program: Program, folder: Path, written: Callable[..., Path]
) -> None:
    logs = folder / "logs"
    logs.mkdir()
    log = written("low.csv", oat=False, altitude="altitude (ft)", lower_ft=SET_TO_1002_FT)
    log.rename(logs / "low.csv")
    (folder / "list.csv").write_text(
        "file,airframe,weight_kg,oat_degc,altimeter_setting\nlow.csv,C-01,580,7,29.5891\n"
    )
    done = program.json("reduce", logs, "--flights", folder / "list.csv")
    assert done["stored"] == 1
    by_list = [p["kappa"] for p in program.json("points", "list")["points"]]
    words = ("--oat", "7", "--altimeter-setting", "29.5891", "--temperature-shows", "probe")
    alone = [r["kappa"] for r in program.json("reduce", logs / "low.csv", *words)["runs"]]
    assert by_list == pytest.approx(alone, abs=1e-9)
    (folder / "list.csv").write_text("file,airframe,altimeter_setting\nlow.csv,C-01,500\n")
    wrong = program.run("reduce", logs, "--flights", folder / "list.csv")
    assert wrong.exit_code == 34
    assert "1013 or 29.92" in wrong.stderr
