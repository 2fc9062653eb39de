"""How records are built and functions are called: by name where places could be mixed up."""

from __future__ import annotations

import ast
from collections.abc import Callable, Iterable, Iterator
from itertools import takewhile
from pathlib import Path

from tests.sources import EVERY_FILE, modules, short, syntax

MOST_BY_PLACE = 4  # fields of a record that may be given by place
TOO_MANY_BY_PLACE = 6  # values of a call
# Take any number of values of one kind, whose order is theirs to choose.
OF_ONE_KIND = {
    "UniqueConstraint",
    "_create",
    "_positive",
    "create_table",
    "glance",
    "positive",
    "row",
    "section",
    "show",
    "together",
}


def is_record(decorator: ast.expr) -> bool:
    called = decorator.func if isinstance(decorator, ast.Call) else decorator
    return ast.unparse(called).split(".")[-1] == "dataclass"


def by_keyword(decorator: ast.expr) -> bool:
    return isinstance(decorator, ast.Call) and any(
        word.arg == "kw_only" and ast.unparse(word.value) == "True" for word in decorator.keywords
    )


def fields_of(record: ast.ClassDef) -> list[ast.AnnAssign]:
    return [part for part in record.body if isinstance(part, ast.AnnAssign)]


def is_by_place(field: ast.AnnAssign) -> bool:
    return ast.unparse(field.annotation).split(".")[-1] != "KW_ONLY"


def large_records_by_place(tree: ast.AST) -> Iterator[str]:
    """Records with many fields of their own that may be built without naming the fields."""
    for node in ast.walk(tree):
        if not isinstance(node, ast.ClassDef):
            continue
        fields = list(takewhile(is_by_place, fields_of(node)))
        records = [d for d in node.decorator_list if is_record(d)]
        if records and len(fields) > MOST_BY_PLACE and not any(map(by_keyword, records)):
            yield f"line {node.lineno}: {node.name} has {len(fields)} fields"


def long_calls_by_place(tree: ast.AST) -> Iterator[str]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and len(node.args) >= TOO_MANY_BY_PLACE:
            name = ast.unparse(node.func).split(".")[-1]
            if name not in OF_ONE_KIND:
                yield f"line {node.lineno}: {name} with {len(node.args)} values"


def functions_of_any(tree: ast.AST) -> Iterator[str]:
    """Functions with an argument or a result that may be anything, unchecked."""
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef):
            given = node.args
            each = [*given.posonlyargs, *given.args, *given.kwonlyargs, given.vararg, given.kwarg]
            hints = [argument.annotation for argument in each if argument is not None]
            for hint in (*hints, node.returns):
                if hint is not None and "Any" in {
                    name.id for name in ast.walk(hint) if isinstance(name, ast.Name)
                }:
                    yield f"{node.name}: {ast.unparse(hint)}"


def test_the_search_sees_records_and_calls_by_place() -> None:
    tree = ast.parse("""
@dataclass(frozen=True)
class Large:
    a: int
    b: int
    c: int
    d: int
    e: int = 0
@dataclasses.dataclass(kw_only=True)
class Named:
    a: int
    b: int
    c: int
    d: int
    e: int
@dataclass
class Small:
    a: int
@dataclass
class Marked:
    a: int
    _: KW_ONLY
    b: int
    c: int
    d: int
    e: int
wind.solved(1, 2, 3, 4, 5, *rest)
wind.solved(1, 2, 3, 4, e=5, f=6)
section(1, 2, 3, 4, 5, 6)
def shown(result: Any, *rows: Row, **options: Mapping[str, Any]) -> Anything: ...
""")
    assert list(functions_of_any(tree)) == ["shown: Any", "shown: Mapping[str, Any]"]
    assert list(large_records_by_place(tree)) == ["line 3: Large has 5 fields"]
    assert list(long_calls_by_place(tree)) == ["line 27: solved with 6 values"]


def everywhere(search: Callable[[ast.AST], Iterator[str]], paths: Iterable[Path]) -> list[str]:
    return [f"{short(path)}, {found}" for path in paths for found in search(syntax(path))]


def test_a_record_of_many_fields_is_built_by_keyword() -> None:
    assert everywhere(large_records_by_place, [*EVERY_FILE, *modules("tests")]) == []


def test_no_call_passes_six_or_more_values_by_place() -> None:
    assert everywhere(long_calls_by_place, EVERY_FILE) == []


def test_no_function_of_the_command_line_takes_or_returns_anything_unchecked() -> None:
    # What these two take goes to click as it is, which checks it.
    handed_on = ["shared_options.py, _option", "verbs.py, __init__", "verbs.py, __init__"]
    found = everywhere(functions_of_any, modules("fleetcal/cli"))
    assert found == [f"fleetcal/cli/{each}: Any" for each in handed_on]
