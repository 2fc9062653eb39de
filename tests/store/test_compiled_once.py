"""Stores that tests open share what SQLAlchemy compiled of their statements."""

from __future__ import annotations

from sqlalchemy.sql.compiler import SQLCompiler

from fleetcal.store import open_store, save_description
from tests.store.invented_rows import FLEET


def test_a_second_store_compiles_none_of_the_statements_anew(begun_file, tmp_path, monkeypatch):
    made: list[str] = []
    init = SQLCompiler.__init__

    def counted(self, *given, **named):
        init(self, *given, **named)
        made.append(self.string)

    monkeypatch.setattr(SQLCompiler, "__init__", counted)
    for name in ("one", "two"):
        made.clear()
        path = tmp_path / f"{name}.sqlite3"
        path.write_bytes(begun_file.read_bytes())
        with open_store(path) as store, store.writing() as session:
            save_description(session, FLEET)
    assert made == []
