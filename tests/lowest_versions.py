"""Print the lowest version of each package that fleetcal says it works with.

As a constraints file for pip, so that a trial installs nothing newer::

    python -m tests.lowest_versions > lowest.txt
    pip install --constraint lowest.txt '.[postgres]'
"""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

PROJECT = Path(__file__).parents[1] / "pyproject.toml"
REQUIREMENT = re.compile(r"(?P<name>[\w.-]+)(?:\[[\w,]+\])?>=(?P<lowest>[\w.]+)")


def lowest_versions(text: str) -> list[str]:
    """Return ``name==lowest`` for every package that the program needs to run."""
    project = tomllib.loads(text)["project"]
    wanted = [*project["dependencies"], *project["optional-dependencies"]["postgres"]]
    found = [REQUIREMENT.fullmatch(requirement) for requirement in wanted]
    return [f"{one['name']}=={one['lowest']}" for one in found if one is not None]


if __name__ == "__main__":
    print(*lowest_versions(PROJECT.read_text(encoding="utf-8")), sep="\n")
