"""The texts for people: README, DEVELOPERS and the topics of the manual; the commands in them."""

from __future__ import annotations

import re
from pathlib import Path

import fleetcal
from fleetcal.services.manual import topics

ROOT = Path(fleetcal.__file__).parents[1]
TOPICS = {topic.name: topic.text for topic in topics()}
PAPERS = {
    name: (ROOT / f"{name}.md").read_text(encoding="utf-8") for name in ("README", "DEVELOPERS")
}
DOCUMENTS = {**PAPERS, **TOPICS}


def blocks(text: str, language: str) -> list[str]:
    """Return the blocks of code in a language."""
    return re.findall(rf"```{language}\n(.*?)```", text, re.DOTALL)


def console_blocks(text: str) -> list[list[str]]:
    """Return the command lines of each block, without the comments behind them."""
    found = blocks(text, "console")
    lines = [
        [re.split(r"\s+# ", line)[0].strip() for line in block.splitlines()] for block in found
    ]
    return [[line for line in block if line] for block in lines]


def console_lines(text: str) -> list[str]:
    """Return the command lines of all blocks."""
    return [line for block in console_blocks(text) for line in block]
