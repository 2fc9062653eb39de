"""What everyday commands load: whoever asks for a list waits for no library of numbers.

Nor does anybody wait for SQLAlchemy who only reads a file.
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from fleetcal.store import open_store
from tests.services.invented_group import describe, flown_points
from tests.store_places import begun_at

pytestmark = [pytest.mark.long, pytest.mark.file_store("runs programs of their own on a file")]

#: Runs a command, then prints what it has loaded.
RUN = """
import contextlib, io, sys
from fleetcal.cli import main
with contextlib.redirect_stdout(io.StringIO()):
    main(sys.argv[1:], standalone_mode=False)
print(*sorted(sys.modules))
"""
NUMBERS = ("numpy", "scipy")
TABLES = ("pandas", "pyarrow", "openpyxl", "statsmodels")
DRAWING = (
    *("matplotlib", "PIL", "fpdf", "fontTools", "jinja2", "flask", "waitress"),
    *("fleetcal.publish.drawing_file", "fleetcal.publish.templating", "fleetcal.publish.paper"),
    *("fleetcal.publish.figure", "fleetcal.publish.figure_layers", "fleetcal.publish.site"),
)
OTHER_QUANTITIES = ("fleetcal.services.performance.climb", "fleetcal.services.performance.cruise")
NEVER = ("scipy.stats", "scipy.optimize", "alembic", "sqlalchemy", "fleetcal.web")
LOG = Path(__file__).parents[2] / "seed_demo" / "first-hours" / "flight-1.csv"


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("everyday")
    place = folder / "store.sqlite3"
    for number, day in enumerate(("2021-03-05", "2021-06-05", "2023-03-05", "2023-06-05")):
        tags = ["C-01", "C-02", "C-03", "C-04"]
        flown_points(folder / f"points-{number}.csv", tags, day)
    with open_store(begun_at(place)) as opened:
        describe(opened)
    for number in range(4):
        loaded_by(place, "points", "import", str(folder / f"points-{number}.csv"))
    loaded_by(place, "fleet", "airframe", "C-02", "--stall-kt", "44")
    return place


def loaded_by(store: Path, *words: str) -> set[str]:
    """Return the modules that a command has loaded when it is done."""
    done = subprocess.run(
        [sys.executable, "-c", RUN, "--store", str(store), *words],
        capture_output=True,
        text=True,
        check=False,
        env={**os.environ, "XDG_CACHE_HOME": str(store.parent)},
    )
    assert done.returncode == 0, done.stderr
    return set(done.stdout.split())


def among(loaded: set[str], refused: tuple[str, ...]) -> set[str]:
    """Return the modules that are among those, or within them."""
    return {
        module
        for module in loaded
        if any(module == name or module.startswith(f"{name}.") for name in refused)
    }


@pytest.mark.parametrize("words", [("groups",), ("points", "list")])
def test_lists_come_without_numbers_tables_and_drawing(store: Path, words: tuple[str, ...]) -> None:
    assert among(loaded_by(store, *words), (*NUMBERS, *TABLES, *DRAWING, *NEVER)) == set()


@pytest.mark.parametrize(
    "words",
    [
        ("standing", "C-02"),
        ("outliers",),
        ("change", "C-01"),
        ("curve", "C-02"),
        ("curve", "wing boom"),
        ("plan", "C-02"),
    ],
)
def test_verdicts_curves_and_plans_come_without_tables_and_drawing(
    store: Path, words: tuple[str, ...]
) -> None:
    loaded = loaded_by(store, *words)
    assert among(loaded, (*TABLES, *DRAWING, *NEVER)) == set()
    assert "fleetcal.flightlog" not in loaded


@pytest.mark.parametrize("words", [("standing", "C-02"), ("outliers",)])
def test_verdicts_on_position_errors_come_without_climbs_and_cruise(
    store: Path, words: tuple[str, ...]
) -> None:
    assert among(loaded_by(store, *words), OTHER_QUANTITIES) == set()


def test_a_preview_comes_without_drawing_searches_and_the_store(store: Path) -> None:
    loaded = loaded_by(store, "reduce", str(LOG), "--preview")
    assert among(loaded, (*DRAWING, *NEVER)) == set()


def threads_after(program: str, **given: str) -> str:
    """Return the number of OpenBLAS's threads in the environment that a program leaves."""
    kept = {name: value for name, value in os.environ.items() if "NUM_THREADS" not in name}
    done = subprocess.run(
        [
            *(sys.executable, "-c"),
            f"import os\n{program}\nprint(os.environ.get('OPENBLAS_NUM_THREADS'))",
        ],
        capture_output=True,
        text=True,
        check=True,
        env={**kept, **given},
    )
    return done.stdout.strip()


def test_whoever_imports_the_package_first_has_one_thread_unless_somebody_chose() -> None:
    assert threads_after("import fleetcal") == "1"
    assert threads_after("import numpy, fleetcal") == "None"
    assert threads_after("import fleetcal", OPENBLAS_NUM_THREADS="3") == "3"
    assert threads_after("import fleetcal", OMP_NUM_THREADS="3") == "None"
    assert threads_after("import seed_demo.files") == "1"
