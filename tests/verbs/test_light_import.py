"""The import of the package costs nothing, and its names are the verbs."""

from __future__ import annotations

import inspect
import json
import subprocess
import sys

import pytest

import fleetcal
from fleetcal import verbs

pytestmark = pytest.mark.any_store("opens no store")

HEAVY = ("numpy", "pandas", "scipy", "matplotlib", "sqlalchemy", "statsmodels", "jinja2", "click")
VERBS = (
    *("change", "curve", "groups", "open", "plan", "publish", "read", "reduce"),
    *("reduce_folder", "standing"),
)


def loaded_by(code: str) -> set[str]:
    """Run code in a fresh process and return which heavy packages it loaded."""
    asked = (
        f"import json, sys\n{code}\nprint(json.dumps([m for m in {HEAVY!r} if m in sys.modules]))"
    )
    done = subprocess.run([sys.executable, "-c", asked], capture_output=True, text=True, check=True)
    return set(json.loads(done.stdout.splitlines()[-1]))


def test_the_import_loads_nothing_heavy() -> None:
    assert loaded_by("import fleetcal") == set()


def test_looking_at_every_verb_and_its_help_loads_nothing_heavy() -> None:
    code = (
        "import fleetcal, inspect, io, pydoc\n"
        "for name in dir(fleetcal):\n"
        "    one = getattr(fleetcal, name)\n"
        "    assert one.__doc__\n"
        "    if inspect.isfunction(one):\n"
        "        inspect.signature(one), pydoc.render_doc(one)\n"
    )
    assert loaded_by(code) == set()


def test_the_search_sees_what_is_loaded() -> None:
    assert "numpy" in loaded_by("import fleetcal.airdata.atmosphere")


def test_the_names_of_the_package_are_the_verbs_and_the_error() -> None:
    assert dir(fleetcal) == sorted((*VERBS, "FleetcalError", "__version__"))
    assert all(callable(getattr(fleetcal, name)) for name in VERBS)


def test_a_name_that_is_not_there_is_refused_as_python_does_it() -> None:
    with pytest.raises(AttributeError, match="has no attribute 'reduse'"):
        fleetcal.reduse  # type: ignore[attr-defined]  # noqa: B018


def test_publish_is_the_verb_before_and_after_the_room_of_that_name_is_loaded() -> None:
    from fleetcal.publish.cautions import SHORT_CAUTION

    assert fleetcal.publish is verbs.publish
    assert SHORT_CAUTION
    assert sys.modules["fleetcal.publish"].__path__


@pytest.mark.parametrize("name", VERBS)
def test_the_help_of_a_verb_says_what_it_takes_gives_and_raises_with_an_example(name: str) -> None:
    words = inspect.cleandoc(getattr(fleetcal, name).__doc__)
    for part in ("Args:", "Returns:", "Raises:", "Example:\n    >>> "):
        assert part in words, part
    assert f"fleetcal.{name}(" in words.partition("Example:")[2]
