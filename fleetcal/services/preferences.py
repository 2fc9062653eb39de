"""What one person prefers: units to read, the usual airframe, the usual store; a TOML file."""

from __future__ import annotations

import re
from dataclasses import asdict, dataclass, fields, replace
from pathlib import Path
from typing import Final

from fleetcal.atomic_write import write_atomically
from fleetcal.errors import DataError, MalformedFileError
from fleetcal.plain_file import text_of, toml_of

#: What may be chosen, the usual one first.
UNITS: Final = {
    "speed_unit": ("kt", "mph", "km/h"),
    "weight_unit": ("kg", "lb"),
    "height_unit": ("ft", "m"),
}
_PASSWORD: Final = re.compile(r"://[^/@:]*:[^/@]+@")


@dataclass(frozen=True, kw_only=True)
class Preferences:
    """Preferences; empty where none is set.

    Attributes:
        airframe: Tag that is meant where none is named.
        store: File or address that is meant where none is named.
    """

    airframe: str = ""
    store: str = ""
    speed_unit: str = ""
    weight_unit: str = ""
    height_unit: str = ""


def read_preferences(path: Path) -> Preferences:
    """Return the preferences in a file; none are set where there is no file.

    Raises:
        DataError: If it cannot be read, or holds what is no preference.
    """
    try:
        document = toml_of(text_of(path))
    except (FileNotFoundError, NotADirectoryError):
        return Preferences()
    except OSError as error:
        raise DataError(f"{path}: {error.strerror}", "check the path and its rights") from error
    except ValueError as error:  # no TOML, or no UTF-8
        raise _damaged(path, str(error)) from error
    known = {field.name for field in fields(Preferences)}
    for name, value in document.items():
        if name not in known:
            raise _damaged(path, f"{name!r} is no preference; known: {', '.join(sorted(known))}")
        if not isinstance(value, str) or not value.isprintable():
            raise _damaged(path, f"{name} is not a line of text")
        if value and value not in UNITS.get(name, (value,)):
            raise _damaged(path, f"{name} is {value!r}; known: {', '.join(UNITS[name])}")
    return Preferences(**document)


def set_preferences(path: Path, changes: dict[str, str]) -> Preferences:
    """Change some preferences in a file, or make it; the others stay.

    Args:
        changes: By name; an empty value forgets the preference.

    Returns:
        All of them, as they are now.

    Raises:
        DataError: If the file is damaged or cannot be written; it is then untouched.
    """
    import tomli_w

    if _PASSWORD.search(changes.get("store", "")):
        raise DataError(
            "the address of the store holds a password, which the file would show",
            "leave it out, and let PGPASSFILE or PGPASSWORD hold it",
        )
    now = replace(read_preferences(path), **changes)
    kept = {name: value for name, value in asdict(now).items() if value}
    write_atomically(path, tomli_w.dumps(kept))
    return now


def _damaged(path: Path, what: str) -> MalformedFileError:
    return MalformedFileError(
        f"{path}: {what}", "correct the file or delete it; 'fleetcal preferences' writes another"
    )
