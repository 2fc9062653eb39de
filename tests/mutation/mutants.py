"""Small faults put into a source file: one operator, constant, result or statement changed."""

from __future__ import annotations

import ast
import copy
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

_COMPARISONS: Final[dict[type[ast.cmpop], type[ast.cmpop]]] = {
    ast.Lt: ast.LtE,
    ast.LtE: ast.Lt,
    ast.Gt: ast.GtE,
    ast.GtE: ast.Gt,
    ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq,
    ast.Is: ast.IsNot,
    ast.IsNot: ast.Is,
    ast.In: ast.NotIn,
    ast.NotIn: ast.In,
}
_OPERATORS: Final[dict[type[ast.operator], type[ast.operator]]] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.Pow: ast.Mult,
    ast.FloorDiv: ast.Div,
    ast.Mod: ast.Mult,
    ast.MatMult: ast.Mult,
    ast.BitAnd: ast.BitOr,
    ast.BitOr: ast.BitAnd,
}
_REMOVABLE: Final = (ast.Expr, ast.Assign, ast.AugAssign, ast.Raise, ast.Continue, ast.Break)


@dataclass(frozen=True, kw_only=True)
class Mutant:
    """One fault: the text between two offsets of a file in bytes, and what replaces it.

    Attributes:
        statement: First line of the statement that it is in, by which coverage knows it.
    """

    line: int
    statement: int
    start: int
    stop: int
    text: str

    def applied(self, source: bytes) -> bytes:
        """Return the file with the fault in it."""
        return source[: self.start] + self.text.encode() + source[self.stop :]


def mutants(source: bytes) -> list[Mutant]:
    """Return every fault that can be put into a file, those that leave it as it was left out."""
    starts = [0]
    for line in source.splitlines(keepends=True):
        starts.append(starts[-1] + len(line))
    tree = ast.parse(source)
    found = []
    for node, statement in _running(tree):
        for changed in _changes(node):
            text = ast.unparse(changed)
            if isinstance(node, ast.expr):
                text = f"({text})"
            begin = starts[node.lineno - 1] + node.col_offset
            end = starts[(node.end_lineno or node.lineno) - 1] + (node.end_col_offset or 0)
            found.append(
                Mutant(line=node.lineno, statement=statement, start=begin, stop=end, text=text)
            )
    return found


def _running(tree: ast.AST, statement: int = 1) -> Iterator[tuple[ast.expr | ast.stmt, int]]:
    """Yield what is worked out when the program runs, with the first line of its statement.

    No annotations, imports or docstrings.
    """
    for name, value in ast.iter_fields(tree):
        if name in ("annotation", "returns", "decorator_list", "format_spec"):
            continue
        for child in value if isinstance(value, list) else [value]:
            if not isinstance(child, ast.AST) or _only_for_readers(child):
                continue
            first = child.lineno if isinstance(child, ast.stmt) else statement
            if isinstance(child, ast.expr | ast.stmt):
                yield child, first
            if not isinstance(child, ast.JoinedStr):  # a part of one has no place of its own
                yield from _running(child, first)


def _only_for_readers(node: ast.AST) -> bool:
    if isinstance(node, ast.Import | ast.ImportFrom):
        return True
    if isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING":
        return True
    return isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)


def _changes(node: ast.expr | ast.stmt) -> Iterator[ast.AST]:
    if isinstance(node, ast.Compare):
        for place, operator in enumerate(node.ops):
            other = copy.deepcopy(node)
            other.ops[place] = _COMPARISONS[type(operator)]()
            yield other
    elif isinstance(node, ast.BinOp) and type(node.op) in _OPERATORS:
        yield ast.BinOp(node.left, _OPERATORS[type(node.op)](), node.right)
    elif isinstance(node, ast.BoolOp):
        swapped = ast.Or() if isinstance(node.op, ast.And) else ast.And()
        yield ast.BoolOp(swapped, node.values)
    elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not | ast.USub):
        yield node.operand
    elif isinstance(node, ast.Constant):
        yield from _other_constants(node.value)
    elif isinstance(node, ast.Return):
        if node.value is not None and ast.unparse(node.value) != "None":
            yield ast.Return(ast.Constant(None))
    elif isinstance(node, _REMOVABLE):
        yield ast.Pass()


def _other_constants(value: object) -> Iterator[ast.Constant]:
    if isinstance(value, bool):
        yield ast.Constant(not value)
    elif isinstance(value, int):
        yield ast.Constant(value + 1)
    elif isinstance(value, float):
        yield ast.Constant(value * 1.1 if value else 1.0)
