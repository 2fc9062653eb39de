"""dqlite on three nodes, which vote on every change and on who leads.

    apt-get install --no-install-recommends go-dqlite

The program that serves it there is the one that shows how to build one in; its driver needs
Python 3.13, for which the program is installed into an environment of its own.
"""

from __future__ import annotations

import os
import subprocess
from functools import partial
from pathlib import Path

from tests.pooler import free_port, program
from tests.sources import ROOT
from tests.store.cluster.processes import Servers
from tests.versions import found_pythons

_LEAST = (3, 13)


def able_python() -> Path | None:
    """Return a Python that the driver runs on; None if the machine has none."""
    found = {tuple(map(int, name.split("."))): path for name, path in found_pythons().items()}
    return next((found[name] for name in sorted(found) if name >= _LEAST), None)


class Dqlite:
    """Three nodes."""

    name = "dqlite"

    def __init__(self, servers: Servers) -> None:
        self._servers = servers
        self._nodes = {f"node-{n}": f"127.0.0.1:{free_port()}" for n in (1, 2, 3)}
        self.address = f"dqlite://{','.join(self._nodes.values())}/club"
        self.python = _environment(servers.folder / "environment")

    def start(self) -> None:
        """Start all, and wait until each has its part."""
        first = next(iter(self._nodes.values()))
        for node, address in self._nodes.items():
            words = ["--api", f"127.0.0.1:{free_port()}", "--db", address, "--dir", "."]
            joining = [] if address == first else ["--join", first]
            demo = program("dqlite-demo", "go-dqlite")
            self._servers.start(node, [demo, *words, *joining])
            self._servers.wait(f"node at {address}", partial(self._knows, address))
        self._servers.wait("third voter", lambda: self._shown(".cluster").count("voter") == 3)

    def _knows(self, address: str) -> bool:
        return address in self._shown(".cluster")

    def kill_leader(self) -> str:
        """End the node that leads at once, and return its name."""
        leader = self._shown(".leader").strip()
        node = next(name for name, address in self._nodes.items() if address == leader)
        self._servers.kill(node)
        return node

    def _shown(self, question: str) -> str:
        words = [program("dqlite", "go-dqlite"), "-s", ",".join(self._nodes.values()), "club"]
        told = subprocess.run([*words, question], capture_output=True, text=True, timeout=20.0)
        return told.stdout if told.returncode == 0 else ""


def _environment(folder: Path) -> Path:
    """Make an environment with the program and the driver, and return its Python."""
    chosen = os.environ.get("FLEETCAL_TESTS_DQLITE_PYTHON")
    if chosen:
        return Path(chosen)
    python = able_python()
    if python is None:
        raise RuntimeError("the driver of dqlite needs Python 3.13, and this machine has none")
    subprocess.run([python, "-m", "venv", folder], check=True)
    made = folder / "bin" / "python"
    words = [str(made), "-m", "pip", "install", "--quiet", "--editable", f"{ROOT}[dqlite,postgres]"]
    subprocess.run(words, check=True, stdout=subprocess.DEVNULL)
    return made
