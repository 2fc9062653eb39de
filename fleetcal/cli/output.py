"""Prints every result: an answer and a table for people, CSV, or one JSON object."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Generic, TypeVar

import click

from fleetcal.cli.fitting import fitted_table
from fleetcal.cli.printer import echo
from fleetcal.cli.prose import answered, colour_allowed, plain_lines
from fleetcal.cli.shared_options import chosen
from fleetcal.cli.table_column import ALWAYS, DETAIL, IN_UNIT, SPARE, Column, column_cells

if TYPE_CHECKING:
    from _typeshed import DataclassInstance

    from fleetcal.services.curves.quantity import Quantity

__all__ = [
    "ALWAYS",
    "DETAIL",
    "IN_UNIT",
    "SPARE",
    "Column",
    "View",
    "as_json",
    "as_text",
    "emit",
    "say",
    "text_table",
    "write_out",
]

Result = TypeVar("Result", bound="DataclassInstance")

DETAILS_HINT = "More, with the model and what is assumed: --details."


@dataclass(frozen=True, kw_only=True)
class View(Generic[Result]):
    """How one kind of result is printed.

    Attributes:
        kind: Name of the result in JSON.
        rows: Field of the result that holds the rows of the table and the CSV.
        columns: Of the table for people; CSV has every plain field of a row.
        answer: The first lines, bold: whole sentences that a pilot reads without a manual.
        head, foot: Lines before and after the table, from the result.
        details: Further lines after it for whoever asks for them.
        details_hint: Says in their place what they would be.
        cautioned: Whether assumptions and caution are printed.
        tells_of: ``reading``, ``curve``, ``rate`` or ``cruise``: whose assumptions they are, of a
            result without a quantity.
        body: Lines of the tables in place of the one of `columns`, from the result.
        tells: Whether the result has anything to be cautious about.
    """

    kind: str
    rows: str
    columns: Sequence[Column]
    answer: Callable[[Result], Iterable[str]] = field(default=lambda result: ())
    head: Callable[[Result], Iterable[str]] = field(default=lambda result: ())
    foot: Callable[[Result], Iterable[str]] = field(default=lambda result: ())
    details: Callable[[Result], Iterable[str]] | None = None
    details_hint: str = DETAILS_HINT
    cautioned: bool = False
    tells_of: str = "reading"
    body: Callable[[Result], Iterable[str]] | None = None
    tells: Callable[[Result], bool] = field(default=lambda result: True)


def emit(result: Result, view: View[Result]) -> None:
    """Print a result to standard output in the format that was asked for."""
    output_format = chosen("format")
    if output_format == "json":
        echo(as_json(result, view))
    elif output_format == "csv":
        from fleetcal.services.for_programs import as_csv, row_type, words_of

        rows = getattr(result, view.rows)
        echo(as_csv(rows, row_type(result, view.rows), words_of(result)), nl=False)
    else:
        echo(as_text(result, view), color=colour_allowed())


def say(text: str, *, err: bool = False) -> None:
    """Print one sentence, wrapped.

    Args:
        text: A sentence; a path or command to copy is printed by itself, as it is.
        err: Whether to standard error.
    """
    echo("\n".join(plain_lines([text])), err=err)


def write_out(file: Path, text: str, what: str) -> None:
    """Write a text to a file and tell on standard error; to standard output for ``-``."""
    from fleetcal.atomic_write import write_atomically

    if str(file) == "-":
        echo(text, nl=False)
    else:
        write_atomically(file, text)
        echo(f"{what} written to {file}", err=True)


def as_json(result: Result, view: View[Result]) -> str:
    """Return a result as one JSON object, without NaN.

    Args:
        result: Dataclass.
    """
    from fleetcal.services.for_programs import as_object

    caution = [*_assumptions(result, view), *_caution()] if view.cautioned else None
    return as_object(view.kind, result, caution)


def as_text(result: Result, view: View[Result]) -> str:
    """Return a result as lines of text: the answer, the table, what else is to be known.

    Args:
        result: Dataclass.
    """
    blocks = [_opening(result, view), [*view.foot(result)]]
    details = view.details if view.tells(result) else None
    if details is not None and chosen("details"):
        blocks[1] += details(result)
    if view.cautioned and view.tells(result):
        assumed = _assumptions(result, view) if chosen_details() else []
        blocks.append([*assumed, *_caution()])
    if details is not None and not chosen("details"):
        blocks[-1].append(view.details_hint)
    lines = answered(view.answer(result))
    for block in blocks:
        block = _trimmed(block)
        if block:
            lines += [*([""] if lines else []), *plain_lines(block)]
    return "\n".join(lines)


def _trimmed(lines: Sequence[str]) -> list[str]:
    """Return lines without empty ones at both ends, or two in a row."""
    kept = [line for line, before in zip(lines, ["", *lines], strict=False) if line or before]
    return kept[:-1] if kept and not kept[-1] else kept


def _opening(result: Result, view: View[Result]) -> list[str]:
    """Return what stands before the table, and the table."""
    rows = getattr(result, view.rows)
    lines = [*view.head(result)]
    if view.body is not None:
        return [*lines, *view.body(result)]
    if rows:
        table = text_table(rows, view.columns, getattr(result, "quantity", None))
        lines += [*([""] if lines else []), *table]
    return lines


def text_table(
    rows: Sequence[object],
    columns: Sequence[Column],
    quantity: Quantity | None = None,
) -> list[str]:
    """Return rows as aligned columns under their headings, as wide as the terminal at most.

    Args:
        rows: Sequence of dataclass.
        quantity: That the rows tell of, for names and decimals.
    """
    from fleetcal.services.for_programs import printed_names

    names = printed_names(type(rows[0]), quantity.words) if rows and quantity else {}
    decimals = quantity.decimals if quantity else 0
    everything = chosen_details()
    cells = [
        column_cells(rows, one, names.get(one.name, one.name), decimals)
        for one in columns
        if everything or one.importance > DETAIL
    ]
    return fitted_table(cells, every_column=everything)


def chosen_details() -> bool:
    """Return whether everything is to be shown; not where no command is running."""
    return click.get_current_context(silent=True) is not None and bool(chosen("details"))


def _assumptions(result: Result, view: View[Result]) -> Iterator[str]:
    from fleetcal.services.cautions import ASSUMPTIONS

    quantity = getattr(result, "quantity", None)
    yield from ASSUMPTIONS[view.tells_of] if quantity is None else quantity.assumptions


def _caution() -> Iterator[str]:
    from fleetcal.services.cautions import SHORT_CAUTION

    yield SHORT_CAUTION
