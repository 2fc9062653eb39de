"""The files of one published table, one for each format."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Final

from fleetcal.atomic_write import files_waiting
from fleetcal.errors import ImplausibleError
from fleetcal.plain_text import file_stem
from fleetcal.publish.figure import correction_figure_svg
from fleetcal.publish.page import table_html
from fleetcal.publish.pooled_table import PooledTable
from fleetcal.publish.table_card import table_card
from fleetcal.publish.table_csv import table_csv
from fleetcal.publish.table_json import table_json
from fleetcal.publish.table_markdown import table_markdown
from fleetcal.publish.table_pdf import table_pdf

#: Ending of the file of each format, in the order in which they are listed.
FORMATS: Final[dict[str, str]] = {
    "html": ".html",
    "csv": ".csv",
    "json": ".json",
    "markdown": ".md",
    "svg": ".svg",
    "pdf": ".pdf",
    "card": "-card.pdf",
}


@dataclass(frozen=True)
class PublishedFile:
    """One file that was written."""

    format: str
    path: Path


def publish_table(
    table: PooledTable,
    folder: Path,
    formats: Sequence[str] = tuple(FORMATS),
    paper: str = "a4",
) -> tuple[PublishedFile, ...]:
    """Write the files of one group into a folder.

    All contents are made before the first file is written. The file names come
    from the group's names, so publishing again replaces the group's own files and
    no others.

    Args:
        folder: Made when missing.
        formats: Keys of `FORMATS`.
        paper: Of PDF and card, ``a4`` or ``letter``.

    Returns:
        In the order of `FORMATS`.

    Raises:
        DataError: If a file cannot be written, or a format or paper is unknown.
    """
    return write_contents(table, folder, table_contents(table, formats, paper))


def write_contents(
    table: PooledTable, folder: Path, contents: Mapping[str, bytes]
) -> tuple[PublishedFile, ...]:
    """Write what `table_contents` made of a table.

    Args:
        table: For the names of the files.
        folder: Made when missing.
        contents: Mapping of format to bytes.

    Returns:
        In the order of `contents`.

    Raises:
        DataError: If a file cannot be written.
    """
    with contents_waiting(table, folder, contents) as move_into_place:
        return move_into_place()


@contextmanager
def contents_waiting(
    table: PooledTable, folder: Path, contents: Mapping[str, bytes]
) -> Iterator[Callable[[], tuple[PublishedFile, ...]]]:
    """Write what `table_contents` made beside its places, and yield what puts it there.

    Args:
        table, folder, contents: As in `write_contents`.

    Yields:
        Returns what `write_contents` returns.

    Raises:
        DataError: If a file cannot be written or put in its place.
    """
    stem = group_file_stem(table)
    files = tuple(PublishedFile(name, folder / f"{stem}{FORMATS[name]}") for name in contents)
    in_turn = {file.path: contents[file.format] for file in reversed(files)}
    with files_waiting(in_turn) as put:  # the page last: when it is new, the others are

        def move_into_place() -> tuple[PublishedFile, ...]:
            put()
            return files

        yield move_into_place


def table_contents(
    table: PooledTable, formats: Sequence[str] = tuple(FORMATS), paper: str = "a4"
) -> dict[str, bytes]:
    """Return what the file of each format holds.

    Returns:
        By format, in the order of `FORMATS`.

    Raises:
        ImplausibleError: If a format or paper is unknown, or none is given.
    """
    chosen = chosen_formats(formats)
    figure = cache(lambda: correction_figure_svg(table))  # stands in two files
    makers: dict[str, Callable[[PooledTable], str | bytes]] = {
        "html": lambda one: table_html(one, figure(), correction_figure_svg(one, narrow=True)),
        "csv": table_csv,
        "json": table_json,
        "markdown": table_markdown,
        "svg": lambda _: figure(),
        "pdf": lambda one: table_pdf(one, paper),
        "card": lambda one: table_card(one, paper),
    }
    made = {name: makers[name](table) for name in chosen}
    return {
        name: content if isinstance(content, bytes) else content.encode("utf-8", "replace")
        for name, content in made.items()
    }


def chosen_formats(formats: Sequence[str]) -> tuple[str, ...]:
    """Return the formats asked for in the order of `FORMATS`.

    Raises:
        ImplausibleError: If one is unknown, or none is given.
    """
    unknown = sorted(set(formats) - set(FORMATS))
    if unknown or not formats:
        raise ImplausibleError(
            f"unknown format {unknown[0]!r}" if unknown else "no format was asked for",
            f"formats: {', '.join(FORMATS)}",
        )
    return tuple(name for name in FORMATS if name in formats)


def group_file_stem(table: PooledTable) -> str:
    """Return the file name, without ending, that belongs to the table's group and form."""
    names = [] if table.airframe is None else [table.airframe.tag]
    names += [table.type_name, table.static_source]
    if table.engine is not None or table.propeller is not None:
        names += [table.engine or "any engine", table.propeller or "any propeller"]
    names.append(f"flaps {table.flap_setting}")
    if table.form.from_cas:
        names.append("from CAS")
    if table.form.speed_unit != "kt":
        names.append(f"in {table.form.unit_in_names}")
    return file_stem(*names)
