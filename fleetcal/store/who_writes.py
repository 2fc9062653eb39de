"""Who writes: the login of the server, or the user of the machine, never what a variable says.

On a server the login is `SESSION_USER`, and a trigger writes it into every change, so that no
program can say otherwise. A file has nobody who could vouch for a name: there it is the user of
the operating system by its number, and marked as the name that the machine has.
"""

from __future__ import annotations

import os
import sys
from dataclasses import dataclass

from sqlalchemy import Connection

from fleetcal.store.engines.kinds import kind_of


@dataclass(frozen=True)
class Writer:
    """A name, and where it is from: ``server``, ``machine`` or ``claimed``."""

    name: str
    name_from: str


def who_writes(connection: Connection) -> Writer:
    """Return who is writing.

    Args:
        connection: In any transaction.
    """
    login = kind_of(connection).login(connection)
    return Writer(_machine_user(), "machine") if login is None else Writer(login, "server")


def _machine_user() -> str:
    """Return the name of this process's user, by its number where it has no name."""
    if sys.platform == "win32":
        return os.getlogin()  # asks the system there, no variable
    import pwd  # not on every system

    number = os.getuid()
    try:
        return pwd.getpwuid(number).pw_name
    except KeyError:  # a user without a name, in a container
        return f"user {number}"
