"""Faults that are put into the program are the ones meant, and nothing else changes."""

from __future__ import annotations

import pytest

from tests.mutation import covered
from tests.mutation.__main__ import tried
from tests.mutation.mutants import mutants

pytestmark = pytest.mark.long

SOURCE = '''
"""A docstring of 3 words."""
from typing import Final
LIMIT: Final[int] = 3
def slower(speed: float, flown: bool = True) -> bool:
    """Say so."""
    print(f"{speed + 1.0:.1f}")
    return (
        flown and
        not speed >= LIMIT * 2.0
    )
'''


def test_every_kind_of_fault_is_put_in_and_nothing_for_readers_is_touched() -> None:
    source = SOURCE.encode()
    made = {one.applied(source).decode() for one in mutants(source)}
    changes = {
        (old.strip(), new.strip())
        for each in made
        for old, new in zip(SOURCE.split("\n"), each.split("\n"), strict=False)
        if old != new and "return" not in old
    }
    assert ("LIMIT: Final[int] = 3", "LIMIT: Final[int] = (4)") in changes
    assert ('print(f"{speed + 1.0:.1f}")', "pass") in changes
    assert ("not speed >= LIMIT * 2.0", "not (speed > LIMIT * 2.0)") in changes
    assert ("not speed >= LIMIT * 2.0", "not speed >= (LIMIT / 2.0)") in changes
    assert ("not speed >= LIMIT * 2.0", "not speed >= LIMIT * (2.2)") in changes
    assert ("not speed >= LIMIT * 2.0", "(speed >= LIMIT * 2.0)") in changes
    assert any("return None" in each for each in made)
    assert any("(flown or not speed >= LIMIT * 2.0)" in each for each in made)
    assert any("flown: bool = (False)" in each for each in made)
    assert len(made) == 9
    assert all('"""A docstring of 3 words."""' in each for each in made)


def test_a_fault_is_known_by_the_first_line_of_its_statement() -> None:
    places = {(one.line, one.statement) for one in mutants(SOURCE.encode())}
    assert (10, 8) in places
    assert (4, 4) in places


def test_a_file_without_ordinary_tests_finds_no_fault_and_is_not_called_failing(
    tmp_path, capsys
) -> None:
    (tmp_path / "fleetcal").mkdir()
    (tmp_path / "fleetcal/__init__.py").write_text("ONE = 1\n", encoding="utf-8")
    (tmp_path / "test_none.py").write_text("import fleetcal\n", encoding="utf-8")
    good = "import fleetcal\n\n\ndef test_it():\n    assert fleetcal.ONE == 1\n"
    (tmp_path / "test_good.py").write_text(good, encoding="utf-8")
    (tmp_path / "test_bad.py").write_text(good.replace("==", "!="), encoding="utf-8")
    paths = ["test_none.py", "test_good.py", "test_bad.py"]
    none, found = covered.measured([tmp_path], paths, tmp_path / "map.json")
    assert not none.lines
    assert found.runs("fleetcal/__init__.py", 1)
    assert capsys.readouterr().out == "left out, because it fails as things are: test_bad.py\n"


def test_a_fault_is_found_by_a_test_that_fails_and_survives_one_that_does_not(tmp_path) -> None:
    (tmp_path / "fleetcal").mkdir()
    module = tmp_path / "fleetcal/__init__.py"
    module.write_text("ONE = 1\n", encoding="utf-8")
    lines = {"fleetcal/__init__.py": [1]}
    for name, holds in (("test_close.py", "fleetcal.ONE == 1"), ("test_lax.py", "fleetcal.ONE")):
        text = f"import fleetcal\n\n\ndef test_it():\n    assert {holds}\n"
        (tmp_path / name).write_text(text, encoding="utf-8")
    [fault] = [one for one in mutants(module.read_bytes()) if one.text == "(2)"]
    close, lax = (covered.TestFile(name, 1.0, lines) for name in ("test_close.py", "test_lax.py"))
    found = tried(tmp_path, "fleetcal/__init__.py", fault, [lax, close])
    assert (found.found_by, found.runs_it, found.too_long) == ("test_close.py", 2, False)
    assert tried(tmp_path, "fleetcal/__init__.py", fault, [lax]).found_by is None
    assert module.read_text(encoding="utf-8") == "ONE = 1\n"
