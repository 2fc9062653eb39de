"""A plan names another flap setting of the airframe that is known less well."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.command_line import Program
from tests.cli.invented_fleet import WING, Group, fleet_toml, points_csv
from tests.store_places import begun_at

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


@pytest.mark.parametrize(("larger", "named"), [(3.0, True), (0.3, False)])
def test_flaps_are_named_where_their_band_is_the_wider(
    larger: float, named: bool, tmp_path: Path
) -> None:
    program = Program(begun_at(tmp_path / "store.sqlite3"))
    described = fleet_toml(FLEET).replace("scaling_speed_kt", f"{LIMITS}scaling_speed_kt", 1)
    (tmp_path / "fleet.toml").write_text(described, encoding="utf-8")
    slow = points_csv(FLEET, seed=8, speeds_kt=(62.0, 70.0, 78.0))
    (tmp_path / "up.csv").write_text(points_csv(FLEET), encoding="utf-8")
    (tmp_path / "flaps.csv").write_text(with_flaps(slow, larger), encoding="utf-8")
    program.output("fleet", "load", tmp_path / "fleet.toml")
    program.output("points", "import", tmp_path / "up.csv")
    program.output("points", "import", tmp_path / "flaps.csv")
    clean = program.json("plan", "C-01", "--points", "2")
    flaps = program.json("plan", "C-01", "--points", "2", "--flap-setting", "20")
    assert (flaps["largest_before_kt"] > clean["largest_before_kt"]) is named
    words = [note for note in clean["notes"] if "--flap-setting '20'" in note]
    assert len(words) == named
    if named:
        assert f"±{flaps['largest_before_kt']:.1f} kt" in words[0]
    assert not any("the largest band is wider" in note for note in flaps["notes"])
