"""What somebody set for good: the environment holds before the file of preferences."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING, Final

import click

from fleetcal.errors import DataError

if TYPE_CHECKING:
    from fleetcal.services.preferences import Preferences

#: Names another file, for tests and for whoever keeps several.
VARIABLE: Final = "FLEETCAL_PREFERENCES"
_KEPT: Final = "fleetcal.preferences"


def preferences_file() -> Path:
    """Return where the preferences are kept, whether or not there are any."""
    named = os.environ.get(VARIABLE)
    return Path(named) if named else Path(click.get_app_dir("fleetcal")) / "preferences.toml"


def preferences(context: click.Context) -> Preferences:
    """Return the preferences in the file, read once for each command.

    Raises:
        DataError: If the file is damaged.
    """
    found: Preferences | None = context.meta.get(_KEPT)
    if found is None:
        from fleetcal.services.preferences import read_preferences

        found = context.meta[_KEPT] = read_preferences(preferences_file())
    return found


def preferred(name: str, context: click.Context, known: tuple[str, ...] = ()) -> str:
    """Return a preference by the environment, else by the file; empty where none is set.

    Args:
        name: Field of `Preferences`; ``FLEETCAL_`` and it in capitals is the variable.
        known: What it may be, if not anything.

    Raises:
        DataError: If it is something else, or the file is damaged.
    """
    variable = f"FLEETCAL_{name.upper()}"
    value = os.environ.get(variable, "")
    if value and known and value not in known:
        raise DataError(f"{variable} is {value!r}", f"set it to {' or '.join(known)}")
    return value or str(getattr(preferences(context), name))


def preferred_airframe(given: str | None) -> str | None:
    """Return the airframe that was named, else the one that is preferred, else None."""
    return given or preferred("airframe", click.get_current_context()) or None
