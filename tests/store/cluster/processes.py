"""Servers that are started for a test, each in a group of processes of its own, and ended."""

from __future__ import annotations

import os
import pwd
import signal
import subprocess
import tempfile
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path

from tests.pooler import ordinary_user

_LONGEST_START_S = 120.0


class Servers:
    """Programs that run as an ordinary user and write into one folder."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._user = ordinary_user(Path("/"))
        self._running: dict[str, subprocess.Popen[bytes]] = {}

    def start(self, name: str, words: Sequence[str], more: Mapping[str, str] | None = None) -> None:
        """Start a program in a folder of its own; what it says goes to ``<name>.log``."""
        place = self.make_folder(name)
        with (self.folder / f"{name}.log").open("ab") as log:
            self._running[name] = subprocess.Popen(
                words,
                cwd=place,
                env={"HOME": str(place), "PATH": "/usr/sbin:/usr/bin:/bin", **(more or {})},
                user=self._user,
                stdout=log,
                stderr=log,
                start_new_session=True,
            )

    def make_folder(self, name: str) -> Path:
        """Make a folder that the programs may write to."""
        place = self.folder / name
        place.mkdir(mode=0o700, exist_ok=True)
        if self._user is not None:
            account = pwd.getpwnam(self._user)
            os.chown(place, account.pw_uid, account.pw_gid)
        return place

    def kill(self, name: str) -> None:
        """End a program and all that it started at once, as a machine that loses its power."""
        leader = self._running.pop(name)
        # a server of PostgreSQL is no child of its keeper's, so that it outlives him
        served = [
            int(path.read_text().split()[0])
            for path in (self.folder / name).glob("*/postmaster.pid")
        ]
        for process in _with_children([leader.pid, *served]):
            with suppress(ProcessLookupError):
                os.kill(process, signal.SIGKILL)
        leader.wait()

    def end(self) -> None:
        """End all that runs."""
        for name in list(self._running):
            self.kill(name)

    def wait(self, what: str, ready: Callable[[], bool]) -> None:
        """Wait until servers are ready.

        Raises:
            RuntimeError: If they are not in time, with what they said last.
        """
        ends = time.monotonic() + _LONGEST_START_S
        while not ready():
            if time.monotonic() > ends:
                logs = [f"{p.name}: {p.read_text()[-1500:]}" for p in self.folder.glob("*.log")]
                raise RuntimeError("\n".join([f"no {what} in time", *logs]))
            time.sleep(0.2)


def _with_children(processes: Sequence[int]) -> list[int]:
    """Return processes and all that they started."""
    parents: dict[int, int] = {}
    for stat in Path("/proc").glob("[0-9]*/stat"):
        with suppress(OSError):
            fields = stat.read_text().rpartition(")")[2].split()
            parents[int(stat.parent.name)] = int(fields[1])
    found = list(processes)
    for process in found:
        found += [child for child, parent in parents.items() if parent == process]
    return found


@contextmanager
def servers(name: str) -> Iterator[Servers]:
    """Yield what starts servers in a folder that is gone at the end, as they are."""
    with tempfile.TemporaryDirectory(prefix=f"fleetcal-{name}-", ignore_cleanup_errors=True) as one:
        folder = Path(one)
        folder.chmod(0o755)
        started = Servers(folder)
        try:
            yield started
        finally:
            started.end()
