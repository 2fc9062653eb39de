"""No file makes the program fall, hang, or say in silence what is wrong."""

from __future__ import annotations

import os
from contextlib import suppress
from pathlib import Path

import pytest

from fleetcal.errors import FleetcalError
from fleetcal.flightlog.raw_table import MOST_COLUMNS, read_table
from fleetcal.plain_file import bytes_of, toml_of
from fleetcal.services.plain_table import MOST_ROWS
from tests.attacks.files import KINDS, Tried, desk
from tests.attacks.odd_files import broken_archives, odd_toml, special_files
from tests.cli.command_line import as_ordinary_user


@pytest.mark.long
@pytest.mark.parametrize("kind", KINDS)
def test_no_file_makes_it_fall_hang_or_err_in_silence(kind: str, tmp_path: Path) -> None:
    tried = Tried()
    KINDS[kind](desk(tmp_path), tried, 25)
    assert tried.worst == []
    assert tried.counts.total() > 60


def test_blank_lines_before_a_log_are_passed_over(tmp_path: Path) -> None:
    log = tmp_path / "log.csv"
    log.write_text("\n" * 5000 + "time (s),IAS (kt)\n" + "".join(f"{i},70\n" for i in range(9)))
    table = read_table(log)
    assert (table.headings, table.heading_line) == (("time (s)", "IAS (kt)"), 5001)
    log.write_text("\n" * 5000)
    with pytest.raises(FleetcalError):
        read_table(log)


def test_a_log_with_more_columns_than_any_is_refused(tmp_path: Path) -> None:
    log = tmp_path / "log.csv"
    log.write_text((",".join(["1"] * (MOST_COLUMNS + 2)) + "\n") * 3)
    with pytest.raises(FleetcalError, match=f"line 1: more than {MOST_COLUMNS} columns"):
        read_table(log)


def test_a_packed_log_that_is_damaged_is_explained(tmp_path: Path) -> None:
    text = "time (s),IAS (kt)\n" + "".join(f"{i},{i % 70}\n" for i in range(5000))
    for what, name, content in broken_archives(text):
        path = tmp_path / name
        path.write_bytes(content)
        with suppress(FleetcalError):
            assert read_table(path).row_count, what


def test_what_is_no_file_is_refused_at_once(tmp_path: Path) -> None:
    with special_files(tmp_path) as paths:
        for path in paths:
            with pytest.raises(OSError, match=r"not a file|directory|symbolic links"):
                bytes_of(path)
            with pytest.raises(FleetcalError):
                read_table(path)


def test_toml_that_no_description_needs_is_refused() -> None:
    for what, content, _ in odd_toml("a = 1\n"):
        with pytest.raises(ValueError, match=r".") as caught:
            toml_of(content.decode("utf-8"))
        assert str(caught.value), what


@pytest.mark.long
def test_a_table_of_too_many_rows_is_refused(tmp_path: Path) -> None:
    place = desk(tmp_path)
    rows = "".join(f"{60 + i / 1000:.3f},0.5\n" for i in range(MOST_ROWS + 1))
    table = place.write("card.csv", f"indicated_kt,correction_kt\n{rows}".encode())
    who = ("--airframe", "C-01", "--date", "2024-03-01", "--u-kt", "1")
    done = place.run("bench", "enter", "airspeed", table, *who)
    assert not isinstance(done, str)
    assert done.exit_code == 34
    assert f"more than {MOST_ROWS} rows" in done.stderr


def test_a_store_in_a_folder_that_is_closed_is_explained(tmp_path: Path) -> None:
    closed = tmp_path / "closed"
    closed.mkdir()
    closed.chmod(0)
    for folder in (tmp_path, *tmp_path.parents):
        if os.access(folder, os.W_OK) and str(folder).startswith(str(tmp_path.parents[1])):
            folder.chmod(folder.stat().st_mode | 0o055 if folder != closed else 0)

    def look() -> str:
        from tests.attacks.files import Desk

        ended = Desk(tmp_path, str(closed / "fleet.store")).run("groups")
        return ended if isinstance(ended, str) else f"{ended.exit_code} {ended.stderr}"

    said = as_ordinary_user(look)
    assert said.startswith("4 Error:"), said
    assert "Permission denied" in said
