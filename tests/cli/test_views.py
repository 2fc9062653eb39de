"""Every view names fields that its result and its rows have."""

from __future__ import annotations

import ast
import importlib
from collections.abc import Iterator
from dataclasses import is_dataclass
from pathlib import Path
from typing import Any, get_args, get_type_hints

import pytest

from fleetcal.cli.output import View
from tests.sources import dotted, modules, short

pytestmark = pytest.mark.any_store("opens no store")


def type_named(tree: ast.Module, name: str) -> type:
    """The type that a module imports under a name, wherever the import stands."""
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and name in {alias.name for alias in node.names}:
            found: type = getattr(importlib.import_module(node.module or ""), name)
            return found
    raise AssertionError(f"{name} is not imported")


def views_of(path: Path) -> Iterator[tuple[str, View[Any], type]]:
    """Each view of a module with the type of its result."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    for node in tree.body:
        if isinstance(node, ast.AnnAssign) and isinstance(node.target, ast.Name):
            written = ast.unparse(node.annotation)
            if written.startswith("View["):
                view = getattr(importlib.import_module(dotted(path)), node.target.id)
                yield node.target.id, view, type_named(tree, written[5:-1])


def type_of(owner: type, name: str) -> Any:
    declared = getattr(owner, name, None)
    if isinstance(declared, property):
        return get_type_hints(declared.fget)["return"]
    return get_type_hints(owner)[name]


VIEWS = [
    pytest.param(view, result, id=f"{short(path)} {name}")
    for path in modules("fleetcal/cli")
    for name, view, result in views_of(path)
]


def test_the_search_finds_the_views() -> None:
    assert len(VIEWS) > 20


@pytest.mark.parametrize(("view", "result"), VIEWS)
def test_the_columns_of_a_view_are_fields_of_its_rows(view: View[Any], result: type) -> None:
    row = next(t for t in get_args(type_of(result, view.rows)) if is_dataclass(t))
    known = {*get_type_hints(row), *(n for n, v in vars(row).items() if isinstance(v, property))}
    assert {column.name for column in view.columns} <= known
