"""PostgreSQL with a synchronous replica: Patroni makes it the primary when the other one is gone.

apt-get install --no-install-recommends patroni etcd-server postgresql-15
"""

from __future__ import annotations

import json
import sys
from contextlib import suppress
from pathlib import Path
from typing import Any
from urllib.error import URLError
from urllib.request import urlopen

import psycopg

from tests.pooler import free_port, program
from tests.store.cluster.processes import Servers

_NODES = ("one", "two")


class Patroni:
    """Two servers and the store of votes that they agree by."""

    name = "patroni"
    python = Path(sys.executable)

    def __init__(self, servers: Servers) -> None:
        self._servers = servers
        self._ports = {node: free_port() for node in _NODES}
        self._asked = {node: free_port() for node in _NODES}
        hosts = ",".join(f"127.0.0.1:{port}" for port in self._ports.values())
        self.address = f"postgresql://postgres@{hosts}/club"

    def start(self) -> None:
        """Start all, and wait for a replica that is in step."""
        votes, peers = free_port(), free_port()
        self._servers.start("votes", _votes(votes, peers))
        for node in _NODES:
            settings = self._servers.folder / f"{node}.yml"
            settings.write_text(json.dumps(self._settings(node, votes)), encoding="utf-8")
            self._servers.start(node, [program("patroni", "patroni"), str(settings)])
            self._servers.wait("primary", lambda: self._leader() is not None)
        self._servers.wait("synchronous replica", self._in_step)
        leader = self._leader()
        assert leader is not None
        with self._connected(leader) as connection:
            connection.execute("CREATE DATABASE club")

    def kill_leader(self) -> str:
        """End the primary with its keeper at once, and return its name."""
        self._servers.wait("synchronous replica", self._in_step)
        leader = self._leader()
        assert leader is not None
        self._servers.kill(leader)
        return leader

    def _leader(self) -> str | None:
        return next((node for node in _NODES if self._answers(node, "primary")), None)

    def _answers(self, node: str, what: str) -> bool:
        place = f"http://127.0.0.1:{self._asked[node]}/{what}"
        with suppress(URLError, OSError), urlopen(place, timeout=2.0) as answer:
            return bool(answer.status == 200)
        return False

    def _in_step(self) -> bool:
        """Tell whether the primary waits for a replica at every commit, and the keepers know."""
        leader = self._leader()
        if leader is None or not any(self._answers(node, "synchronous") for node in _NODES):
            return False
        with suppress(psycopg.Error), self._connected(leader) as connection:
            query = "SELECT count(*) FROM pg_stat_replication WHERE sync_state = 'sync'"
            ((count,),) = connection.execute(query).fetchall()
            return bool(count)
        return False

    def _connected(self, node: str) -> psycopg.Connection[Any]:
        place = f"postgresql://postgres@127.0.0.1:{self._ports[node]}/postgres"
        return psycopg.connect(place, autocommit=True)

    def _settings(self, node: str, votes: int) -> dict[str, Any]:
        anybody = ["local all all trust", "host all all 127.0.0.1/32 trust"]
        return {
            "scope": "club",
            "name": node,
            "restapi": _listening(self._asked[node]),
            "etcd3": {"hosts": f"127.0.0.1:{votes}"},
            "bootstrap": {
                "dcs": {"ttl": 10, "loop_wait": 2, "retry_timeout": 4, "synchronous_mode": True},
                "initdb": [{"encoding": "UTF8"}, {"locale": "C.UTF-8"}],
                "pg_hba": [*anybody, "host replication all 127.0.0.1/32 trust"],
            },
            "postgresql": {
                **_listening(self._ports[node]),
                "data_dir": str(self._servers.folder / node / "data"),
                "bin_dir": _programs(),
                "pgpass": str(self._servers.folder / node / "passwords"),
                "authentication": {
                    "superuser": {"username": "postgres", "password": "none"},
                    "replication": {"username": "copying", "password": "none"},
                },
                # Tests end programs, never the machine: nobody waits for the disk.
                "parameters": {
                    "fsync": "off",
                    "unix_socket_directories": str(self._servers.make_folder(node)),
                },
            },
        }


def _listening(port: int) -> dict[str, str]:
    return {"listen": f"127.0.0.1:{port}", "connect_address": f"127.0.0.1:{port}"}


def _votes(port: int, peers: int) -> list[str]:
    here, there = f"http://127.0.0.1:{port}", f"http://127.0.0.1:{peers}"
    etcd = program("etcd", "etcd-server")
    listening = ["--listen-client-urls", here, "--advertise-client-urls", here]
    between = ["--listen-peer-urls", there, "--initial-advertise-peer-urls", there]
    return [
        etcd,
        "--data-dir",
        "data",
        *listening,
        *between,
        "--initial-cluster",
        f"default={there}",
    ]


def _programs() -> str:
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/postgres"))
    if not found:
        raise RuntimeError("no PostgreSQL is installed: apt-get install postgresql-15")
    return str(found[-1].parent)
