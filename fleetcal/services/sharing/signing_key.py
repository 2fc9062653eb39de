"""The key pair that its owner signs shares with: Ed25519, in a file of his own, made by need.

The private key lies in the user's own data folder and in no store. A store file is handed
on, copied and backed up, and whoever had a copy could sign in its owner's name. A store on a
server has many users, each of whom speaks for himself; where a club speaks with one voice,
its officers point FLEETCAL_KEY at one file that only they can read. A second computer of the
same owner gets a copy of the file, by hand. A key that is lost stops nothing: the next share
makes another one, and whoever takes that share in is shown a conflict and confirms the new
key once. Whoever has the file can sign in its owner's name, so it is readable by its owner
alone (0600), and refused if it is not.
"""

from __future__ import annotations

import json
import os
import stat
import tempfile
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

from platformdirs import user_data_path

from fleetcal.atomic_write import write_atomically
from fleetcal.errors import DataError, MalformedFileError
from fleetcal.plain_file import bytes_of
from fleetcal.store.person import LONGEST_NAME, Person, is_name

VARIABLE: Final = "FLEETCAL_KEY"
FILE_NAME: Final = "signing-key.json"
_FORMAT: Final = "fleetcal signing key"
_OTHERS: Final = stat.S_IRWXG | stat.S_IRWXO
_SEED_BYTES: Final = 32


@dataclass(frozen=True)
class Signer:
    """Somebody who can sign.

    Attributes:
        person: Who.
        seed: The private key; never shown.
    """

    person: Person
    seed: bytes = field(repr=False)

    def sign(self, message: bytes) -> str:
        """Return the signature of a message, in hexadecimal digits; always the same one."""
        return str(_private(self.seed).sign(message).hex())


def key_file() -> Path:
    """Return where the key is kept, whether or not there is one."""
    named = os.environ.get(VARIABLE)
    return Path(named) if named else user_data_path("fleetcal", appauthor=False) / FILE_NAME


def own_signer() -> Signer | None:
    """Return who signs here, None where no key was made yet.

    Raises:
        DataError: If the file cannot be read, is damaged, or can be read by others.
    """
    path = key_file()
    try:
        if os.name == "posix" and path.stat().st_mode & _OTHERS:
            raise DataError(
                f"{path}: others can read this key and sign in your name",
                f"close it with: chmod 600 {path}",
            )
        return _read(bytes_of(path), path)
    except (FileNotFoundError, NotADirectoryError):
        return None
    except OSError as error:
        raise DataError(f"{path}: {error.strerror}", f"check the file, or {VARIABLE}") from error


def signer_by_need() -> Signer:
    """Return who signs here; make a key where there is none.

    Raises:
        DataError: As `own_signer`, or if no key can be kept.
    """
    found = own_signer()
    if found is not None:
        return found
    _write(key_file(), os.urandom(_SEED_BYTES), "")
    made = own_signer()
    assert made is not None  # it was just written, here or by another program
    return made


def name_signer(name: str) -> Person:
    """Give the key that signs here a person's name, which travels with shares.

    Raises:
        DataError: If it is no name, or as `signer_by_need`.
    """
    if not name or not is_name(name):
        raise DataError(
            f"{name[:LONGEST_NAME]!r} is no name", f"write one line of 1 to {LONGEST_NAME} letters"
        )
    signer = signer_by_need()
    write_atomically(key_file(), _text(signer.seed, name))  # which keeps its permissions
    return Person(signer.person.key, name)


def _private(seed: bytes) -> Any:
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

    return Ed25519PrivateKey.from_private_bytes(seed)


def _read(raw: bytes, path: Path) -> Signer:
    try:
        document = json.loads(raw)
        seed = bytes.fromhex(document["private_key"])
        name = document["name"]
        good = document["format"] == _FORMAT and isinstance(name, str) and is_name(name)
    except (ValueError, KeyError, TypeError):
        good = False
    if not good or len(seed) != _SEED_BYTES:
        raise MalformedFileError(
            f"{path}: is no signing key of fleetcal, or damaged",
            "bring back a copy of it; if there is none, move it away and the next share makes "
            "another key",
        )
    return Signer(Person(_private(seed).public_key().public_bytes_raw().hex(), name), seed)


def _text(seed: bytes, name: str) -> str:
    document = {"format": _FORMAT, "name": name, "private_key": seed.hex()}
    return json.dumps(document, indent=1) + "\n"


def _write(path: Path, seed: bytes, name: str) -> None:
    """Write a new key that nobody else can read; one that came about meanwhile stays."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        # made with 0600 from the beginning
        handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=".key-")
        try:
            with os.fdopen(handle, "w", encoding="utf-8") as stream:
                stream.write(_text(seed, name))
                stream.flush()
                os.fsync(stream.fileno())
            with suppress(FileExistsError):
                os.link(temporary, path)
        finally:
            os.unlink(temporary)
    except OSError as error:
        raise DataError(
            f"cannot keep a signing key at {path}: {error.strerror}",
            f"name a file that you can write with {VARIABLE}",
        ) from error
