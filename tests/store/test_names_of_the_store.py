"""The names of the store, which are loaded when they are first used."""

from __future__ import annotations

import ast
import subprocess
import sys
from importlib import import_module
from pathlib import Path

import pytest

import fleetcal.store
from fleetcal.store import _HOME_OF, add_issue, select_points


@pytest.mark.parametrize("name", sorted(_HOME_OF))
def test_a_name_is_what_its_module_has_under_it(name: str) -> None:
    there = getattr(import_module(f"fleetcal.store.{_HOME_OF[name]}"), name)
    here = getattr(fleetcal.store, name)
    assert callable(here) if name.islower() else here is there
    assert name in dir(fleetcal.store)


def test_a_checker_sees_the_names_that_are_loaded_from_where_they_are_loaded() -> None:
    tree = ast.parse(Path(fleetcal.store.__file__).read_text(encoding="utf-8"))
    seen = {
        name.name: str(one.module).removeprefix("fleetcal.store.")
        for one in ast.walk(tree)
        if isinstance(one, ast.ImportFrom) and str(one.module).startswith("fleetcal.store.")
        for name in one.names
    }
    assert seen == _HOME_OF


def test_no_function_is_called_as_a_module_is() -> None:
    """Whoever imports the module would find it under the function's name."""
    assert not {name for name in _HOME_OF if name in {*_HOME_OF.values()}}


def test_a_name_that_is_not_there_is_no_attribute() -> None:
    assert not hasattr(fleetcal.store, "nowhere")
    with pytest.raises(ImportError, match="nowhere"):
        exec("from fleetcal.store import nowhere")


def test_a_function_says_what_it_stands_for_and_hands_everything_on() -> None:
    assert add_issue.__name__ == "add_issue"
    assert "fleetcal.store.issue_rows.add_issue" in str(add_issue.__doc__)
    with pytest.raises(TypeError, match="select_points"):
        select_points(nobody=1)  # type: ignore[call-arg]


@pytest.mark.long
def test_names_cost_no_library_before_they_are_used() -> None:
    program = (
        "import sys; from fleetcal.store import PointFilter, Store, add_sortie, open_store;"
        " assert 'sqlalchemy' not in sys.modules; from fleetcal.store import Airframe;"
        " assert 'sqlalchemy' in sys.modules"
    )
    assert subprocess.run([sys.executable, "-c", program], check=False).returncode == 0
