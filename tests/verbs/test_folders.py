"""The verb for a folder of logs answers what the command answers, whoever computes."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

import fleetcal
from fleetcal.errors import DataError
from fleetcal.services.cautions import SHORT_CAUTION
from tests.cli.command_line import Program
from tests.one_airframe import FLEET

pytestmark = pytest.mark.long


@pytest.fixture
def place(folder: Path, flight_text: str) -> Path:
    """A folder of two logs, one that is none, and a store that knows who flew."""
    logs = folder / "logs"
    logs.mkdir()
    (logs / "a.csv").write_text(flight_text)
    (logs / "b.csv").write_text(f"# once more, another day\n{flight_text}".replace("-05-", "-06-"))
    (logs / "c.csv").write_text("no log\n")
    (folder / "fleet.toml").write_text(FLEET)
    for name in ("verb", "command"):
        Program(str(folder / f"{name}.store")).output("fleet", "load", folder / "fleet.toml")
    return folder


def test_a_folder_is_kept_by_a_given_executor_as_by_the_command(place: Path) -> None:
    with ThreadPoolExecutor(2) as executor:
        answer = fleetcal.reduce_folder(
            place / "logs",
            airframe="C-01",
            weight_kg=560,
            store=place / "verb.store",
            executor=executor,
        )
    words = ("reduce", place / "logs", "--airframe", "C-01", "--weight-kg", 560)
    printed = Program(str(place / "command.store")).run(*words, "--format", "csv")
    assert printed.exit_code == 3
    assert answer.frame().to_csv(index=False, lineterminator="\n") == printed.stdout
    assert answer.frame()["outcome"].tolist() == ["stored", "stored", "failed"]
    assert answer.sentences[0] == "2 of 3 files are kept: 2 stored now, 0 known already, 1 failed."
    assert any("c.csv" in warning for warning in answer.warnings)
    assert answer.caution == SHORT_CAUTION
    again = fleetcal.reduce_folder(
        place / "logs", airframe="C-01", weight_kg=560, store=place / "verb.store", processes=1
    )
    assert again.result.known == 2


def test_two_ways_to_choose_who_computes_are_refused(place: Path) -> None:
    with ThreadPoolExecutor(1) as executor, pytest.raises(DataError, match="workers_at"):
        fleetcal.reduce_folder(
            place / "logs",
            airframe="C-01",
            store=place / "verb.store",
            workers_at="tcp://127.0.0.1:1",
            executor=executor,
        )
