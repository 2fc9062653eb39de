"""The rooms of the package: who may import whom, and how large a room's pieces may grow."""

from __future__ import annotations

import ast
import sys
from collections.abc import Iterable, Iterator, Mapping
from functools import cache
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

from tests.sources import (
    EVERY_FILE,
    EVERY_MODULE,
    OURS,
    ROOT,
    dotted,
    faults_of,
    modules,
    short,
    syntax,
)

PACKAGE = ROOT / "fleetcal"
LONGEST_FILE = 400
LONGEST_FUNCTION = 60

# What each room may import of this project, beside itself.
ALLOWED = {
    "": {  # __init__ and __main__
        "fleetcal.cli",
        "fleetcal.errors",
        "fleetcal.verbs",
        "fleetcal.version",
    },
    "version": set[str](),
    "errors": set[str](),
    "units": set[str](),
    "wording": set[str](),
    "plain_text": {"fleetcal.wording"},
    "atomic_write": {"fleetcal.errors"},
    "plain_file": set[str](),
    "records": {"fleetcal.errors", "fleetcal.units"},
    "airdata": {"fleetcal.errors", "fleetcal.units", "fleetcal.records"},
    "flightlog": {"fleetcal.errors", "fleetcal.units", "fleetcal.plain_file"},
    "fleet": {"fleetcal.errors", "fleetcal.units"},
    "store": {"fleetcal.errors", "fleetcal.plain_file", "fleetcal.records", "fleetcal.version"},
    "publish": {
        "fleetcal.errors",
        "fleetcal.units",
        "fleetcal.wording",
        "fleetcal.plain_text",
        "fleetcal.atomic_write",
        "fleetcal.records",
    },
    "services": {
        "fleetcal.errors",
        "fleetcal.units",
        "fleetcal.wording",
        "fleetcal.plain_text",
        "fleetcal.plain_file",
        "fleetcal.atomic_write",
        "fleetcal.records",
        "fleetcal.airdata",
        "fleetcal.flightlog",
        "fleetcal.fleet",
        "fleetcal.store",
        "fleetcal.publish",
        "fleetcal.version",
    },
    "cli": {
        "fleetcal.errors",
        "fleetcal.services",
        "fleetcal.wording",
        "fleetcal.plain_text",
        "fleetcal.atomic_write",
        "fleetcal.records",
        "fleetcal.version",
        "fleetcal.web",
    },
    "web": {
        "fleetcal.errors",
        "fleetcal.units",
        "fleetcal.wording",
        "fleetcal.plain_text",
        "fleetcal.atomic_write",
        "fleetcal.records",
        "fleetcal.publish",
        "fleetcal.services",
        "fleetcal.version",
    },
    "verbs": {"fleetcal.errors", "fleetcal.services"},
}
# Inside services: which sub-rooms each may import, beside itself and the modules at its top.
SERVICES = {
    "bench": set[str](),
    "curves": set[str](),
    "fleet": set[str](),
    "points": set[str](),
    "flights": {"bench"},
    "measurements": {"bench", "flights"},
    "handbook": {"curves"},
    "publishing": {"curves", "handbook", "performance"},
    "sharing": {"keeping", "publishing"},
    "keeping": set[str](),
    "performance": {"bench", "curves", "flights", "handbook"},
}
# What the command line may load to print its help.
LIGHT = {"click", "fleetcal"}


def room(path: Path) -> str:
    """First part below the package; empty for its own __init__ and __main__."""
    parts = path.relative_to(PACKAGE).with_suffix("").parts
    return "" if parts[0] in ("__init__", "__main__") else parts[0]


@cache
def imported(path: Path) -> list[tuple[int, str]]:
    """Every import of a file wherever it stands, as (line, full dotted name)."""
    return list(imports_in(path, syntax(path)))


def imports_in(path: Path, tree: ast.AST) -> Iterator[tuple[int, str]]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from ((node.lineno, alias.name) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            source = node.module or ""
            if node.level:
                base = dotted(path).split(".")
                is_package = path.name == "__init__.py"
                above = base[: len(base) - node.level + is_package]
                source = ".".join([*above, source] if source else above)
            yield from ((node.lineno, f"{source}.{alias.name}") for alias in node.names)


def is_within(name: str, module: str) -> bool:
    return name == module or name.startswith(module + ".")


def test_the_search_sees_imports_wherever_they_stand() -> None:
    where = PACKAGE / "cli" / "invented.py"
    source = """
from typing import TYPE_CHECKING
import fleetcal.store as memory
from ..fleet import pooled
from .output import emit
if TYPE_CHECKING:
    from fleetcal.airdata.budget import Term
def late():
    from fleetcal.publish import CAUTIONS
"""
    found = list(imports_in(where, ast.parse(source)))
    assert {name for _, name in found} == {
        "typing.TYPE_CHECKING",
        "fleetcal.store",
        "fleetcal.fleet.pooled",
        "fleetcal.cli.output.emit",
        "fleetcal.airdata.budget.Term",
        "fleetcal.publish.CAUTIONS",
    }
    assert len(strangers(where, found)) == 4


def strangers(path: Path, found: Iterable[tuple[int, str]]) -> list[str]:
    """Imports of this project that the file's room may not make."""
    own = room(path)
    may = ALLOWED[own] | ({f"fleetcal.{own}"} if own else set())
    return [
        f"line {line}: {name}"
        for line, name in found
        if name.split(".")[0] in OURS
        if not any(is_within(name, module) for module in may)
    ]


def test_a_module_imports_only_from_the_rooms_it_may() -> None:
    assert faults_of(EVERY_MODULE, lambda path: strangers(path, imported(path))) == []


def test_every_room_has_its_rule() -> None:
    assert {room(path) for path in EVERY_MODULE} == set(ALLOWED)


def test_services_import_each_other_only_downwards() -> None:
    folder = PACKAGE / "services"
    rooms = {path.name for path in folder.iterdir() if (path / "__init__.py").exists()}
    assert rooms == set(SERVICES)
    found = []
    for path in modules("fleetcal/services"):
        own = path.relative_to(folder).parts[0].removesuffix(".py")
        for line, name in imported(path):
            other = name.removeprefix("fleetcal.services.").split(".")[0]
            is_room = is_within(name, "fleetcal.services") and other in SERVICES
            if is_room and other not in SERVICES.get(own, set()) | {own}:
                found.append(f"{short(path)}, line {line}: {name}")
    assert found == []


def circle(imports: Mapping[str, Iterable[str]]) -> list[str]:
    """Return modules that lead back to the first by what they import; nothing if none do."""
    try:
        TopologicalSorter(imports).prepare()
    except CycleError as error:
        return list(error.args[1])
    return []


def test_the_search_sees_a_circle() -> None:
    assert circle({"a": ["b"], "b": ["c"], "d": ["a"]}) == []
    assert set(circle({"a": ["b"], "b": ["c"], "c": ["a"], "d": ["a"]})) == {"a", "b", "c"}


def test_no_modules_import_each_other_in_a_circle_wherever_the_imports_stand() -> None:
    names = {dotted(path) for path in EVERY_MODULE}
    imports = {
        dotted(path): {
            module
            for _, name in imported(path)
            if (module := name if name in names else name.rpartition(".")[0]) in names
        }
        for path in EVERY_MODULE
    }
    assert circle(imports) == []


def ours_outside(path: Path, allowed: Iterable[str]) -> list[str]:
    """Imports of this project that are not within the allowed modules."""
    ours = [name for _, name in imported(path) if name.split(".")[0] in OURS]
    return [name for name in ours if not any(is_within(name, module) for module in allowed)]


def test_upgrade_steps_import_nothing_of_services_or_command_line() -> None:
    steps = modules("migrations")
    assert faults_of(steps, lambda path: ours_outside(path, ["fleetcal.store"])) == []


def test_the_demonstration_uses_the_commands_and_nothing_behind_them() -> None:
    allowed = ["fleetcal.cli", "seed_demo"]
    assert faults_of(modules("seed_demo"), lambda path: ours_outside(path, allowed)) == []


def sql(path: Path) -> list[str]:
    """Imports of what speaks SQL; services may name the type of a session."""
    found = [name for _, name in imported(path) if name.split(".")[0] in ("sqlalchemy", "alembic")]
    type_only = ["sqlalchemy.orm.Session"] if short(path).startswith("fleetcal/services/") else []
    return [name for name in found if name not in type_only]


def test_sql_lives_in_the_store_and_its_upgrade_steps() -> None:
    speak = ("migrations/", "fleetcal/store/")
    elsewhere = [path for path in EVERY_FILE if not short(path).startswith(speak)]
    assert faults_of(elsewhere, sql) == []


def heavy(path: Path) -> list[str]:
    """What a module of the command line imports at once beyond what help needs."""
    names = [
        alias.name if isinstance(node, ast.Import) else f"{node.module}.{alias.name}"
        for node in syntax(path).body
        if isinstance(node, ast.Import | ast.ImportFrom)
        for alias in node.names
    ]
    return [
        name
        for name in names
        if name.split(".")[0] not in sys.stdlib_module_names | LIGHT
        or is_within(name, "fleetcal.services")
    ]


def test_the_command_line_loads_only_what_is_light_before_a_command_runs() -> None:
    assert faults_of(modules("fleetcal/cli"), heavy) == []


def test_no_file_grows_too_long() -> None:
    lines = {path: len(path.read_text(encoding="utf-8").splitlines()) for path in EVERY_FILE}
    assert {short(path): count for path, count in lines.items() if count > LONGEST_FILE} == {}


def length(node: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    """Lines of a function; the signature of a command or of a verb is its table of options."""
    lines = (node.end_lineno or node.lineno) - node.lineno + 1
    decorators = {ast.unparse(decorator).split("(")[0] for decorator in node.decorator_list}
    is_command = any(name.split(".")[-1] in ("command", "group") for name in decorators)
    is_verb = any(argument.arg == "store" for argument in node.args.kwonlyargs)
    return lines - (node.body[0].lineno - node.lineno) if is_command or is_verb else lines


def long_functions(path: Path) -> list[str]:
    functions = (
        node
        for node in ast.walk(syntax(path))
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
    )
    return [f"{f.name}: {length(f)}" for f in functions if length(f) > LONGEST_FUNCTION]


def test_no_function_grows_too_long() -> None:
    assert faults_of([*EVERY_MODULE, *modules("migrations")], long_functions) == []


def test_no_module_is_a_drawer_for_odds_and_ends() -> None:
    drawers = {"utils", "util", "helpers", "misc", "common"}
    assert [short(p) for p in EVERY_FILE if p.stem in drawers or p.parent.name in drawers] == []


def test_tests_import_each_other_by_one_kind_of_name() -> None:
    folders = {path.parent for path in modules("tests")}
    assert [short(folder) for folder in folders if not (folder / "__init__.py").exists()] == []
    helpers = {path.stem for path in modules("tests")} - sys.stdlib_module_names
    helpers -= {path.stem for path in (*EVERY_FILE, ROOT / "seed_demo")}
    found = [
        f"{short(path)}, line {line}: {name}"
        for path in modules("tests")
        for line, name in imported(path)
        if name.split(".")[0] in helpers
    ]
    assert found == []


def test_every_change_of_a_store_is_a_function_that_can_be_done_again() -> None:
    tried_once = [
        short(path)
        for path in EVERY_MODULE
        if "store" not in path.relative_to(PACKAGE).parts[:1] and ".writing(" in path.read_text()
    ]
    assert tried_once == []
