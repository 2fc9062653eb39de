"""A plan names another flap setting of the airframe that is known less well."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.cli.command_line import Program
from tests.cli.invented_fleet import WING, Group, fleet_toml, points_csv
from tests.store_places import begun_at

pytestmark = pytest.mark.long

FLEET = (Group(WING, 5, 0.04, -0.12),)
LIMITS = (
    "stall_speed_clean_kt = 46.0\nmanoeuvring_speed_kt = 95.0\nnever_exceed_kt = 141.0\n"
    "flap_limit_kt = 85.0\n"
)


def with_flaps(text: str, larger: float) -> str:
    """The same points flown with flaps 20 a day later, their uncertainties so much larger."""
    rows = [line.split(",") for line in text.splitlines()]
    for row in rows[1:]:
        row[1] = "2024-03-06"
        row[7:9] = [f"{float(cell) * larger:.6f}" for cell in row[7:9]]
    rows[0].append("flap_setting")
    return "\n".join(",".join([*row, "20"][: len(rows[0])]) for row in rows) + "\n"


def flown_both_ways(folder: Path, larger: float) -> Program:
    """A program on a fleet that flew with flaps up and with 20."""
    program = Program(begun_at(folder / "store.sqlite3"))
    described = fleet_toml(FLEET).replace("scaling_speed_kt", f"{LIMITS}scaling_speed_kt", 1)
    (folder / "fleet.toml").write_text(described, encoding="utf-8")
    slow = points_csv(FLEET, seed=8, speeds_kt=(62.0, 70.0, 78.0))
    (folder / "up.csv").write_text(points_csv(FLEET), encoding="utf-8")
    (folder / "flaps.csv").write_text(with_flaps(slow, larger), encoding="utf-8")
    program.output("fleet", "load", folder / "fleet.toml")
    program.output("points", "import", folder / "up.csv")
    program.output("points", "import", folder / "flaps.csv")
    return program


@pytest.mark.parametrize(("larger", "named"), [(3.0, True), (0.3, False)])
def test_flaps_are_named_where_their_band_is_the_wider(
    larger: float, named: bool, tmp_path: Path
) -> None:
    program = flown_both_ways(tmp_path, larger)
    clean = program.json("plan", "C-01", "--points", "2")
    flaps = program.json("plan", "C-01", "--points", "2", "--flap-setting", "20")
    assert (flaps["largest_before_kt"] > clean["largest_before_kt"]) is named
    words = [note for note in clean["notes"] if "--flap-setting '20'" in note]
    assert len(words) == named
    if named:
        assert f"±{flaps['largest_before_kt']:.1f} kt" in words[0]
    assert not any("the largest band is wider" in note for note in flaps["notes"])


@pytest.mark.parametrize("larger", [1.8, 3.0])
def test_the_runs_are_shared_out_so_that_the_wider_of_both_bands_is_narrowest(
    larger: float, tmp_path: Path
) -> None:
    program = flown_both_ways(tmp_path, larger)
    (note,) = [
        note for note in program.json("plan", "C-01")["notes"] if "--flap-setting '20'" in note
    ]
    given = re.search(r"give it (\d)", note)
    number = int(given[1]) if given else 4
    left = []
    for flaps in range(5):
        bands = []
        for setting, runs in (("20", flaps), ("up", 4 - flaps)):
            words = ("--flap-setting", setting, "--sorties", "1", "--points", str(max(runs, 1)))
            plan = program.json("plan", "C-01", *words)
            bands.append(plan["largest_after_kt" if runs else "largest_before_kt"])
        left.append(max(bands))
    assert number == left.index(min(left))
    assert number > 0
