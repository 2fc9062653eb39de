"""What a database alone knows stays in its own module: words, codes, drivers."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from fleetcal.errors import DataError
from fleetcal.store.roles import roles_sql
from tests.sources import EVERY_MODULE, ROOT, dotted, faults_of, short, syntax
from tests.test_layers import imported, is_within

ENGINES = ROOT / "fleetcal/store/engines"
OUTSIDE = [path for path in EVERY_MODULE if not path.is_relative_to(ENGINES)]
# What all engines share, and the file that is read without SQLAlchemy.
SHARED = ("__init__", "kind", "kinds", "guard", "file_reading")
SINGLE = [dotted(path) for path in ENGINES.glob("*.py") if path.stem not in SHARED]
DRIVERS = ("sqlite3", "psycopg", "sqlalchemydqlite", "dqlite", "sqlalchemy.dialects")
# Names of engines and their drivers, statements of theirs, codes of SQLSTATE; the ending of a
# file's name is none.
WORDS = re.compile(
    r"(?i:(?<!\.)sqlite|dqlite|postgres|psycopg|PRAGMA|BEGIN IMMEDIATE|FOR UPDATE|pg_|sqlstate)"
    r"|^(?=.*\d)[0-9A-Z]{5}$"
)
# What the words stand in, and why that is none of the engines' business.
ALLOWED = {
    "fleetcal/flightlog/file_bytes.py": "a database that is given as a log is told by its heading",
    "fleetcal/cli/shared_options.py": "says to users what --store takes",
}


def literals(path: Path) -> Iterator[tuple[int, str]]:
    """Yield the texts of a module that are not its documentation."""
    tree = syntax(path)
    told = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and id(node) not in told:
            if isinstance(node.value, str):
                yield node.lineno, node.value
            elif isinstance(node.value, bytes):
                yield node.lineno, node.value.decode("latin-1")


def words(path: Path) -> list[str]:
    return [f"line {line}: {text}" for line, text in literals(path) if WORDS.search(text)]


def engines_imported(path: Path) -> list[str]:
    return [
        name
        for _, name in imported(path)
        if any(is_within(name, module) for module in (*SINGLE, *DRIVERS))
    ]


def test_nothing_but_the_engines_imports_one_of_them_or_a_driver() -> None:
    assert faults_of(OUTSIDE, engines_imported) == []
    assert engines_imported(ENGINES / "kinds.py") != []


def test_nothing_but_the_engines_holds_their_words() -> None:
    assert faults_of([path for path in OUTSIDE if short(path) not in ALLOWED], words) == []


def test_every_exception_is_needed_and_has_its_reason() -> None:
    assert [name for name, reason in ALLOWED.items() if len(reason.split()) < 5] == []
    assert [name for name in ALLOWED if not words(ROOT / name)] == []


def test_the_search_finds_words_and_codes_where_they_stand() -> None:
    found = {name.stem: words(name) for name in ENGINES.glob("*.py")}
    assert {"sqlite", "postgresql", "dqlite"} <= {name for name, lines in found.items() if lines}
    assert any("42P07" in line for line in found["postgresql"])
    assert not any(WORDS.search(text) for text in ("monday.sqlite3", "ABCDE", "12 345"))


def test_a_database_that_knows_no_roles_is_given_no_statements() -> None:
    with pytest.raises(DataError, match="a dqlite database knows no roles"):
        roles_sql("dqlite://host:9001/club", ("members",), ())
