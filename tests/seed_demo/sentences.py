"""Everything that the demonstration says, and the faults of wording looked for in it."""

from __future__ import annotations

import html
import io
import re
import sys
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import fleetcal.cli
import seed_demo.commands

COUNTED = (
    "airframes|points|climbs|glides|sorties|legs|measurements|runs|lines|speeds|groups|pairings|"
    "others|logs|pages|minutes|issues|degrees of freedom|other airframes|airspeeds|tables"
)
#: Name of each fault, and how it looks.
FAULTS = {
    "minus zero": re.compile(r"(?<![\w.,+\-−])[-−]0(\.0+)?(?![\d.]*\d)(?!\w)"),
    "a plural of one": re.compile(rf"(?<![\d.,:/-])1 ({COUNTED})\b"),
    "an adjusted p-value as a chance": re.compile(
        r"chance [^.;]*(adjusted|allowing for)|adjusted[^.;]*chance of|nearly one"
    ),
    "a place not filled in": re.compile(
        r"\{\w+(\.\w+)*(:[^}\s]*)?\}|object at 0x|\bTODO\b|\bXXX\b|\bNone\b|\bnan\b"
    ),
    "two full stops": re.compile(r"(?<![./])\.\.(?![./])|;\.|,\.|:\."),
    "words in place of plain English": re.compile(
        r"\bless (ours|issue \d|first|before|the fitted)|Heaviest of|of those shown|is told by|"
        r"is not what|shown at no airspeed|not shown outside"
    ),
}
TWO_BLANKS = re.compile(r"[\w,.;:)]  +[\w(]")
#: Words of the pitot caution, and quantities whose results have nothing to do with it.
PITOT = "pitot pressure is taken as free of error"
OTHER_QUANTITIES = {"climb", "glide", "cruise"}


@dataclass
class Said:
    """What commands printed, with the words they were called with."""

    outputs: list[tuple[tuple[str, ...], str]] = field(default_factory=list)

    def recorded(self, main: Any) -> Any:
        """Return a program that keeps what it prints."""

        def run(words: list[str], **options: Any) -> Any:
            try:
                return main(words, **options)
            finally:  # the demonstration collects what is printed in a buffer
                assert isinstance(sys.stdout, io.StringIO)
                self.outputs.append((tuple(words), sys.stdout.getvalue()))

        return run


def recording(said: Said, patch: Any) -> None:
    """Let the demonstration's commands be recorded."""
    patch.setattr(seed_demo.commands, "main", said.recorded(fleetcal.cli.main))


def faults_of_output(words: tuple[str, ...], text: str) -> Iterator[str]:
    """Yield the faults in what a command printed."""
    where = f"fleetcal {' '.join(words[:3])}"
    yield from _faults(where, text)
    if OTHER_QUANTITIES & set(words) and PITOT in text:
        yield f"{where}: the caution of airspeeds under another quantity"


def faults_of_file(path: Path) -> Iterator[str]:
    """Yield the faults in a file that people or programs read."""
    text = path.read_text(encoding="utf-8")
    if path.suffix == ".html":
        text = re.sub(r"<(script|style)\b.*?</\1>", " ", text, flags=re.DOTALL)
        text = html.unescape(re.sub(r"<[^>]*>", "\n", text))
    yield from _faults(path.name, text)


def _faults(where: str, text: str) -> Iterator[str]:
    for line in text.splitlines():
        for name, look in FAULTS.items():
            found = look.search(line)
            if found is not None:
                around = line[max(found.start() - 60, 0) : found.end() + 40]
                yield f"{where}: {name}: ...{around}..."
        # columns of tables are apart by blanks; a line that ends a sentence is none
        if line.rstrip().endswith(".") and TWO_BLANKS.search(line.strip()):
            yield f"{where}: two blanks: {line.strip()[:120]}"
