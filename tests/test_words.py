"""The words of the package: names say what a value is, and one name has one meaning."""

from __future__ import annotations

import ast
import re
from collections import defaultdict
from collections.abc import Iterator
from functools import cache

import pytest

from tests.sources import EVERY_MODULE, faults_of, short, syntax

# Words that name nothing, with what to write for them.
NAMELESS = {
    "told": "notes, rows, values: what it is",
    "said": "sentence, note, stated",
    "thing": "entry, row, name",
    "things": "entries, rows",
    "whole": "complete, integer, total, everything",
    "wanted": "chosen, request, filter_",
    "asked": "request, stated, chosen",
    "asking": "request",
    "beside": "compared, temporary, margin",
    "heard": "witnesses",
    "put_in": "write",
    "take_out": "collect, delete",
    "take_away": "delete",
}
# What users and stores know by such a word: fields of JSON, columns of tables.
PUBLISHED = {
    "asked",  # the question of an outlook
    "asked_otherwise",  # options of a reduction that differ from what is stored
    "said",  # the sentence on a disagreement
    "thing_key",  # a column of the store
    "things",  # how many entries a share file holds
}


def words(name: str) -> str:
    """A name as words between underscores: `TakeOut` and `take_out` are both `_take_out_`."""
    return f"_{re.sub(r'(?<=[a-z0-9])(?=[A-Z])', '_', name).lower().strip('_')}_"


@cache
def nameless(name: str) -> list[str]:
    return [word for word in NAMELESS if f"_{word}_" in words(name)]


def names(tree: ast.AST) -> Iterator[tuple[int, str]]:
    """Every name that a module gives, with its line."""
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef):
            yield node.lineno, node.name
        elif isinstance(node, ast.Name) and isinstance(node.ctx, ast.Store):
            yield node.lineno, node.id
        elif isinstance(node, ast.arg):
            yield node.lineno, node.arg
        elif isinstance(node, ast.alias) and node.asname is not None:
            yield 0, node.asname


def published(tree: ast.AST) -> set[tuple[int, str]]:
    """The fields that may keep their name, because users or stores know it."""
    return {
        (node.lineno, node.target.id)
        for owner in ast.walk(tree)
        if isinstance(owner, ast.ClassDef)
        for node in owner.body
        if isinstance(node, ast.AnnAssign) and isinstance(node.target, ast.Name)
        if node.target.id in PUBLISHED
    }


def faults(tree: ast.AST) -> list[str]:
    kept = published(tree)
    return [
        f"line {line}: {name} ({word}: write {NAMELESS[word]})"
        for line, name in names(tree)
        if (line, name) not in kept
        for word in nameless(name)
    ]


def test_names_say_what_a_value_is() -> None:
    assert [short(path) for path in EVERY_MODULE if nameless(path.stem)] == []
    assert faults_of(EVERY_MODULE, lambda path: faults(syntax(path))) == []


@pytest.mark.parametrize(
    "source",
    [
        "told = 1",
        "def f(wanted): ...",
        "class AirAsked: ...",
        "def take_out_flights(): ...",
        "for said in x: ...",
        "_WHOLE = 1",
        "import a as things",
        "class A:\n    told: int",
        "x = [thing for thing in y]",
    ],
)
def test_a_name_that_says_nothing_is_found(source: str) -> None:
    assert faults(ast.parse(source))


@pytest.mark.parametrize("source", ["wholesale = 1", "class A:\n    things: int", "untold = 1"])
def test_other_names_are_left_alone(source: str) -> None:
    assert not faults(ast.parse(source))


def test_published_names_are_still_published() -> None:
    found = {name for path in EVERY_MODULE for _, name in published(syntax(path))}
    assert found == PUBLISHED


def test_a_class_has_its_name_alone() -> None:
    places: dict[str, list[str]] = defaultdict(list)
    for path in EVERY_MODULE:
        for node in syntax(path).body:
            if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
                places[node.name].append(short(path))
    # A leg is known to the store as a row and to the rest as a record.
    assert {name for name, found in places.items() if len(found) > 1} == {"Leg"}
