"""The command that tries other Pythons and versions finds what is there, names what is not."""

import subprocess
import sys
from pathlib import Path

import pytest

from tests import versions


@pytest.mark.long
def test_every_python_found_is_what_its_name_says():
    found = versions.found_pythons()
    assert f"3.{sys.version_info.minor}" in found
    for name, python in found.items():
        answer = subprocess.run([python, "--version"], capture_output=True, text=True, check=True)
        assert answer.stdout.startswith(f"Python {name}.")


def test_a_python_that_is_not_there_is_named_and_nothing_passes(capsys, monkeypatch):
    monkeypatch.setattr(versions, "found_pythons", dict)
    assert versions.main(["--pair", "3.12:lowest"]) == 2
    assert "3.12: not found" in capsys.readouterr().err


@pytest.mark.parametrize("pair", ["3.12", "3.12:oldest", "pypy:lowest", "3.12:"])
def test_a_pair_that_is_none_is_refused(pair, capsys):
    with pytest.raises(SystemExit):
        versions.main(["--pair", pair])
    assert "is not like 3.11:lowest" in capsys.readouterr().err


@pytest.mark.long
@pytest.mark.parametrize(("runs", "exit_code"), [("True", 0), ("False", 1)])
def test_what_the_tests_say_is_what_is_printed(runs, exit_code, tmp_path, monkeypatch, capsys):
    test = tmp_path / "test_one.py"
    test.write_text(f"def test_one():\n    assert {runs}\n")
    (tmp_path / "pytest.ini").write_text("[pytest]\n")
    monkeypatch.setattr(versions, "ROOT", tmp_path)
    worked, counts = versions.tested(Path(sys.executable), [str(test)])
    assert worked is (exit_code == 0)
    assert counts == ("1 passed" if worked else "1 failed")
    assert "test_one.py" in capsys.readouterr().out or worked
