"""Who signs: a public key, and the name that goes with it."""

from __future__ import annotations

from dataclasses import dataclass
from hashlib import sha256
from typing import Final

LONGEST_NAME: Final = 80
_GROUPS: Final = 5


@dataclass(frozen=True)
class Person:
    """Somebody who signs shares.

    Attributes:
        key: Public key, 64 hexadecimal digits.
        name: As given, perhaps by another; only the key is proof.
    """

    key: str
    name: str = ""

    @property
    def mark(self) -> str:
        """The key in short, to be read out: 20 hexadecimal digits in groups of four."""
        digits = sha256(bytes.fromhex(self.key)).hexdigest()
        return "-".join(digits[4 * i : 4 * i + 4] for i in range(_GROUPS))

    @property
    def shown(self) -> str:
        """Name and key in short."""
        return f"{self.name} (key {self.mark})" if self.name else f"key {self.mark}"


def is_name(name: str) -> bool:
    """Tell whether a text can be a person's name: one printable line, not too long."""
    return name.isprintable() and name == name.strip() and len(name) <= LONGEST_NAME
