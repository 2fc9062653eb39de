"""Which program a worker runs: results are the same everywhere only if it is the same."""

from __future__ import annotations

import hashlib
import platform
from functools import cache
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Final

from fleetcal.errors import WorkersError
from fleetcal.version import __version__

#: What the numbers go through beside our own code.
_BENEATH: Final = ("numpy", "scipy", "pandas")
_LETTERS: Final = 8


@cache
def program_mark() -> dict[str, str]:
    """Return names and versions of what computes here.

    Returns:
        With a mark of the code itself: two states of it between two releases have one version.
    """
    found = {"fleetcal": f"{__version__} ({_code()})"}
    found["Python"] = ".".join(platform.python_version_tuple()[:2])
    for name in _BENEATH:
        try:
            found[name] = version(name)
        except PackageNotFoundError:
            found[name] = "none"
    return found


def _code() -> str:
    room = Path(__file__).parents[2]
    digest = hashlib.sha256()
    for path in sorted(room.rglob("*.py")):
        digest.update(path.relative_to(room).as_posix().encode() + b"\0" + path.read_bytes())
    return digest.hexdigest()[:_LETTERS]


def refuse_other_program(writer: dict[str, str]) -> None:
    """Refuse to work for a writer whose program is another.

    Args:
        writer: The mark of the one who writes the store.

    Raises:
        WorkersError: If it differs from the program here; every difference is named.
    """
    here = program_mark()
    differences = [
        f"{name} {here.get(name, 'none')} instead of {theirs}"
        for name, theirs in writer.items()
        if here.get(name) != theirs
    ]
    if differences:
        raise WorkersError(
            f"a worker on {platform.node() or 'another machine'} has {', '.join(differences)}",
            "install the same versions on every worker; the results would not be the same",
        )
