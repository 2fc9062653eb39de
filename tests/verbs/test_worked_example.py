"""The worked example of the manual, from a first log to a published table, does what it says."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.documents import TOPICS, blocks

pytestmark = pytest.mark.long


def test_the_worked_example_prints_what_the_manual_shows(
    log: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(log.parent)
    example, errors = blocks(TOPICS["python"], "python")
    (shown,) = blocks(TOPICS["python"], "text")
    lines = shown.splitlines()
    names: dict[str, object] = {}
    exec(example, names)
    printed = capsys.readouterr().out.splitlines()
    assert len(lines) >= 5
    for line, there in zip(lines, printed, strict=False):
        assert there.startswith(line.removesuffix(" ...")), (there, line)
    assert any(line.startswith("At 580 kg C-41 reads ") for line in printed)
    pages = sorted(path.suffix for path in (log.parent / "pages").iterdir())
    assert pages == [".html", ".pdf"]
    assert (log.parent / "flight.png").stat().st_size > 10_000
    exec(errors, {})
    assert "weight_kg=-580 is not a number from 1 to 100000" in capsys.readouterr().out
