"""Count what a reader of the package has to take in: lines, records, commands, bare calls.

``python -m tests.bench.size`` counts the checkout that it is run in,
``python -m tests.bench.size ROOT`` another one, so that two states can be compared.
"""

from __future__ import annotations

import argparse
import ast
import io
import json
import subprocess
import sys
import tokenize
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

PACKAGE = "fleetcal"
KINDS = ("code", "import", "docstring", "comment", "blank")
#: Fields that a point of position error has wherever it stands.
POINT_FIELDS = {
    *("vic_kt", "pressure_altitude_ft", "oat_degc", "tas_kt", "kappa", "u_kappa", "dvpc_kt"),
    *("u_dvpc_kt", "dhpc_ft", "u_dhpc_ft", "degrees_of_freedom", "accepted", "reason"),
}
HAVE_DOCSTRINGS = ast.Module | ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef
SHARED_FIELDS = 6
MANY_VALUES = 6
#: Run with the other checkout first on the path, so that its commands are counted.
COMMANDS = """
import json
import click
from fleetcal.cli import main

def leaves(command, context):
    if not isinstance(command, click.Group):
        yield command
        return
    for name in command.list_commands(context):
        inner = command.get_command(context, name)
        yield from leaves(inner, click.Context(inner, info_name=name, parent=context))

found = list(leaves(main, click.Context(main, info_name="fleetcal")))
options = [one for leaf in found for one in leaf.params if isinstance(one, click.Option)]
names = {name for one in options for name in (*one.opts, *one.secondary_opts)}
print(json.dumps([len(found), len(options), len(names)]))
"""


def main() -> None:
    """Print one count a line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("root", type=Path, nargs="?", default=Path.cwd())
    for name, count in counts_of(parser.parse_args().root.resolve()).items():
        print(f"{name:42}{count:8,}")


def counts_of(root: Path) -> dict[str, int]:
    """Return every count of a checkout by its name."""
    files = sorted((root / PACKAGE).rglob("*.py"))
    texts = [path.read_text(encoding="utf-8") for path in files]
    trees = [ast.parse(text) for text in texts]
    lines: Counter[str] = Counter()
    for text, tree in zip(texts, trees, strict=True):
        lines.update(kinds_of_lines(text, tree))
    classes = [node for tree in trees for node in ast.walk(tree) if isinstance(node, ast.ClassDef)]
    dataclasses = {node.name for node in classes if is_dataclass(node)}
    calls = [node for tree in trees for node in ast.walk(tree) if isinstance(node, ast.Call)]
    many = [call for call in calls if bare_values(call) >= MANY_VALUES]
    leaves, options, names = command_counts(root)
    return {
        "Python files": len(files),
        **{f"lines: {kind}": lines[kind] for kind in KINDS},
        "lines: all": lines.total(),
        "lines of other files": sum(other_files(root / PACKAGE)),
        "lines of tests": sum(
            len(path.read_text(encoding="utf-8").splitlines())
            for path in (root / "tests").rglob("*.py")
        ),
        "dataclasses": len(dataclasses),
        f"classes with {SHARED_FIELDS} or more point fields": sum(
            len(POINT_FIELDS & fields_of(node)) >= SHARED_FIELDS for node in classes
        ),
        f"calls with {MANY_VALUES} or more bare values": len(many),
        "of them, making a dataclass": sum(called(call) in dataclasses for call in many),
        "commands": leaves,
        "options": options,
        "different names of options": names,
    }


def kinds_of_lines(text: str, tree: ast.Module) -> Iterator[str]:
    """Yield the kind of each line; a line of code with a comment behind it is code."""
    kinds = ["code" if line.strip() else "blank" for line in text.splitlines()]
    for token in tokenize.generate_tokens(io.StringIO(text).readline):
        if token.type == tokenize.COMMENT and not token.line[: token.start[1]].strip():
            kinds[token.start[0] - 1] = "comment"
    for node in ast.walk(tree):
        if isinstance(node, ast.Import | ast.ImportFrom):
            _mark(kinds, node, "import")
        elif isinstance(node, HAVE_DOCSTRINGS) and ast.get_docstring(node) is not None:
            _mark(kinds, node.body[0], "docstring")
    return iter(kinds)


def _mark(kinds: list[str], node: ast.stmt, kind: str) -> None:
    end = node.end_lineno or node.lineno
    kinds[node.lineno - 1 : end] = [kind] * (end - node.lineno + 1)


def is_dataclass(node: ast.ClassDef) -> bool:
    """Return whether a class is decorated as a dataclass, with or without arguments."""
    return any("dataclass" in ast.unparse(decorator) for decorator in node.decorator_list)


def fields_of(node: ast.ClassDef) -> set[str]:
    """Return the names that a class annotates in its own body."""
    return {
        inner.target.id
        for inner in node.body
        if isinstance(inner, ast.AnnAssign) and isinstance(inner.target, ast.Name)
    }


def bare_values(call: ast.Call) -> int:
    """Return how many values a call passes without saying what they are."""
    return sum(not isinstance(value, ast.Starred) for value in call.args)


def called(call: ast.Call) -> str:
    """Return the last name of what is called."""
    return ast.unparse(call.func).rsplit(".", 1)[-1]


def command_counts(root: Path) -> list[int]:
    """Return how many commands there are, how many options, and how many names these have."""
    done = subprocess.run(
        [sys.executable, "-c", f"import sys; sys.path.insert(0, {str(root)!r})\n{COMMANDS}"],
        cwd=root,
        capture_output=True,
        text=True,
        check=True,
    )
    return list(json.loads(done.stdout))


def other_files(package: Path) -> Iterator[int]:
    """Yield the lengths of files that are not Python but belong to the package."""
    for path in sorted(package.rglob("*")):
        if path.is_file() and path.suffix != ".py" and "__pycache__" not in path.parts:
            try:
                yield len(path.read_text(encoding="utf-8").splitlines())
            except UnicodeDecodeError:
                continue


if __name__ == "__main__":
    main()
