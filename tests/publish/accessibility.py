"""The accessibility rules that pages are held against, fetched by npm."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path
from typing import Final

import pytest

from tests.made_once import made_once

AXE: Final = "axe-core@4.10.3"
#: Returns [impact, rule, pieces of the page] for each finding.
FINDINGS: Final = """axe.run(document, {resultTypes: ["violations"]}).then(
    r => JSON.stringify(r.violations.map(v =>
    [v.impact, v.id, v.nodes.map(n => n.html.slice(0, 160))])))"""


def axe_script(factory: pytest.TempPathFactory) -> str:
    """Return the script of the rules; needs npm, which fetches it once."""
    folder = made_once("accessibility rules", factory, _fetch)
    return (folder / "node_modules" / "axe-core" / "axe.min.js").read_text(encoding="utf-8")


def _fetch(folder: Path) -> None:
    npm = shutil.which("npm")
    assert npm, "npm is not installed: the accessibility check cannot be made"
    words = ("install", "--no-save", "--no-audit", "--no-fund", "--ignore-scripts", AXE)
    done = subprocess.run(
        [npm, *words, "--prefix", str(folder)], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, f"axe-core could not be fetched: {done.stderr}"
