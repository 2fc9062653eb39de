"""Everyday commands on a server that is reached through a pooler of connections."""

from __future__ import annotations

from pathlib import Path

import pytest

from fleetcal.store import open_store
from fleetcal.store.models import Airframe
from tests.cli.club import READING, UNANSWERED, WRITING, begin_store, write_files
from tests.cli.command_line import Program
from tests.pooler import pooling
from tests.postgres_server import drop_database, make_database

pytestmark = [
    pytest.mark.any_store("has a server of its own"),
    pytest.mark.long(minutes=1.0),
]


def test_every_command_works_where_each_transaction_gets_another_connection(
    postgres_url: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    write_files(tmp_path)
    direct = make_database(postgres_url, "pooled")
    with pooling(direct) as address:
        program = Program(address)
        begin_store(program, tmp_path)
        # one that holds a connection of the server's makes the others share what is left
        with open_store(address) as beside, beside.reading() as session:
            session.query(Airframe).all()
            for words in (*READING[:-1], *WRITING):
                if words not in UNANSWERED:
                    result = program.run(*words)
                    assert result.exit_code == 0, (words, result.stderr)
                if words[:2] == ("share", "--out"):
                    assert Path("shared.json").is_file()
    assert Program(direct).output("store", "check")
    drop_database(postgres_url, "pooled")
