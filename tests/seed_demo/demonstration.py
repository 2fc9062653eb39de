"""The whole demonstration, run once for all tests that look at it."""

from __future__ import annotations

import pickle
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

import seed_demo.__main__ as program
from seed_demo.walk import Outcome, walk
from tests.made_once import made_once
from tests.seed_demo.sentences import Said, recording


@dataclass(frozen=True)
class Demonstration:
    """Where its files are, what came of it, and what its commands printed."""

    folder: Path
    outcome: Outcome
    said: Said


def demonstration(factory: pytest.TempPathFactory) -> Demonstration:
    """Return the demonstration, which nobody may change."""
    made = made_once("demonstration", factory, _run)
    outcome, outputs = pickle.loads((made / "kept").read_bytes())
    return Demonstration(made / "demo", outcome, Said(outputs))


def _run(folder: Path) -> None:
    """Run the program of the demonstration and keep what a test wants to know."""
    said = Said()
    outcomes: list[Outcome] = []

    def kept(*arguments: Any) -> Outcome:
        outcomes.append(walk(*arguments))
        return outcomes[-1]

    with pytest.MonkeyPatch.context() as patch:
        recording(said, patch)
        patch.setattr(program, "walk", kept)
        assert program.main([str(folder / "demo")]) == 0
    (folder / "kept").write_bytes(pickle.dumps((outcomes[-1], said.outputs)))
