"""A refused reduction says what it assumed before, and names the likeliest cause first."""

from __future__ import annotations

from pathlib import Path

from tests.cli.command_line import Program
from tests.cli.invented_sortie import Card, Truth, fly, log_text

WHO = ("--airframe", "C-01", "--weight-kg", "600", "--date", "2024-05-02")


def test_what_was_assumed_is_said_before_the_error(program: Program, folder: Path) -> None:
    head, *rows = log_text(fly(Card(airspeeds_kt=(100.0,), legs=2))).splitlines()
    bare = ",".join(part.split(" (")[0] for part in head.split(","))
    (folder / "flight.csv").write_text("\n".join([bare, *rows]))
    for words in (("--preview",), WHO):
        result = program.run("reduce", folder / "flight.csv", *words)
        assert result.exit_code == 37
        *warnings, error, hint = result.stderr.splitlines()
        assert warnings
        assert all(line.startswith("Warning: ") for line in warnings)
        assert any("states no unit; kt is assumed" in line for line in warnings)
        assert error.startswith("Error: flight.csv")
        assert hint.startswith("Hint: look first at the likeliest cause: a unit that was assumed")


def test_columns_says_the_same(program: Program, folder: Path) -> None:
    head, *rows = log_text(fly(Card(airspeeds_kt=(100.0,)), Truth(roughness=1.0))).splitlines()
    bare = ",".join(part.split(" (")[0] for part in head.split(","))
    swapped = bare.replace("IAS", "X").replace("ground speed", "IAS").replace("X", "ground speed")
    (folder / "flight.csv").write_text("\n".join([swapped, *rows]))
    found = program.json("columns", folder / "flight.csv")
    assert "look swapped" in found["lacking"]
    assert found["parts"] == 0
    assert any("states no unit; kt is assumed" in warning for warning in found["warnings"])
