"""The files of one published group: page, CSV and figure."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from fleetcal.publish.figure import correction_figure_svg
from fleetcal.publish.page import table_html
from fleetcal.publish.plain_text import file_stem
from fleetcal.publish.pooled_table import PooledTable
from fleetcal.publish.table_csv import table_csv
from fleetcal.publish.whole_file import write_file_whole


@dataclass(frozen=True)
class PublishedFiles:
    """Where the files of one group were written."""

    page: Path
    csv: Path
    figure: Path


def publish_table(table: PooledTable, folder: Path) -> PublishedFiles:
    """Write page, CSV and figure of one group into a folder.

    All three texts are made before the first file is written. The file names come
    from the group's names, so publishing again replaces the group's own files and
    no others.

    Parameters
    ----------
    table : PooledTable
    folder : Path
        Made when missing.

    Returns
    -------
    PublishedFiles

    Raises
    ------
    DataError
        If a file cannot be written.
    """
    figure = correction_figure_svg(table)
    page = table_html(table, figure, correction_figure_svg(table, narrow=True))
    rows = table_csv(table)
    stem = group_file_stem(table)
    files = PublishedFiles(folder / f"{stem}.html", folder / f"{stem}.csv", folder / f"{stem}.svg")
    write_file_whole(files.figure, figure)
    write_file_whole(files.csv, rows)
    write_file_whole(files.page, page)
    return files


def group_file_stem(table: PooledTable) -> str:
    """Return the file name, without ending, that belongs to the table's group.

    Parameters
    ----------
    table : PooledTable

    Returns
    -------
    str
    """
    names = [table.type_name, table.static_source]
    if table.engine is not None or table.propeller is not None:
        names += [table.engine or "any engine", table.propeller or "any propeller"]
    return file_stem(*names, f"flaps {table.flap_setting}")
