"""A pooler of connections before a server, which lends one of a few out for each transaction."""

from __future__ import annotations

import os
import pwd
import shutil
import socket
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import psycopg
from sqlalchemy.engine import make_url

_SETTINGS = """
[databases]
* = host={host} port={port} user=postgres
[pgbouncer]
listen_addr = 127.0.0.1
listen_port = {listens}
unix_socket_dir =
auth_type = any
pool_mode = transaction
default_pool_size = 2
client_login_timeout = 5
logfile = {folder}/log
pidfile = {folder}/pid
"""
_LONGEST_START_S = 20.0


def program(name: str, package: str) -> str:
    """Return the path of a server's program; it is an error if the machine lacks it."""
    found = shutil.which(name, path=f"{os.environ['PATH']}:/usr/sbin:/usr/bin")
    if found is None:
        raise RuntimeError(f"{name} is not installed: apt-get install {package}")
    return found


def free_port() -> int:
    """Return a port of this machine that nobody listens on."""
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        return int(one.getsockname()[1])


def ordinary_user(place: Path) -> str | None:
    """Return as whom a program runs that refuses the super-user: the owner of a folder.

    Args:
        place: Where it finds what it works with; of the super-user it becomes nobody's.

    Returns:
        None for oneself.
    """
    if os.geteuid() != 0:
        return None
    owner = place.stat().st_uid
    return pwd.getpwuid(owner).pw_name if owner else "nobody"


@contextmanager
def pooling(server: str) -> Iterator[str]:
    """Yield the address of a server's database through a pooler.

    Args:
        server: Address of a database, on a socket or a port.
    """
    url = make_url(server)
    listens = free_port()
    named = url.host or url.query["host"]
    with tempfile.TemporaryDirectory(prefix="fleetcal-pooler-") as name:
        folder = Path(name)
        settings = folder / "settings.ini"
        settings.write_text(
            _SETTINGS.format(host=named, port=url.port or 5432, listens=listens, folder=folder)
        )
        if (user := ordinary_user(Path(str(named)))) is not None:
            os.chown(folder, pwd.getpwnam(user).pw_uid, -1)
        words = [program("pgbouncer", "pgbouncer"), "-q", str(settings)]
        process = subprocess.Popen(words, user=user, stderr=subprocess.PIPE)
        pooled = url.set(host="127.0.0.1", port=listens, username=url.username or "postgres")
        address = pooled.difference_update_query(["host"]).render_as_string(hide_password=False)
        try:
            _wait(process, address)
            yield address
        finally:
            process.terminate()
            process.communicate()


def _wait(process: subprocess.Popen[bytes], address: str) -> None:
    ends = time.monotonic() + _LONGEST_START_S
    while True:
        try:
            psycopg.connect(address).close()
            return
        except psycopg.OperationalError:
            if process.poll() is not None or time.monotonic() > ends:
                raise
            time.sleep(0.05)
