"""Issues of a table: what went in stays, what changed is told, an old one comes again."""

from __future__ import annotations

import hashlib
import json
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

import fleetcal
from fleetcal.cli import publish_commands
from fleetcal.publish.published_files import FORMATS
from fleetcal.publish.table_form import SPEED_UNITS, TableForm
from fleetcal.services.publishing import issues
from tests.cli.command_line import Program, assert_explained, folder_content
from tests.cli.invented_fleet import TAIL, WING
from tests.store_places import change, copy_store, held, opened

pytestmark = pytest.mark.long

DAY = ("--date", "2024-05-06")


@pytest.fixture(scope="module")
def story(few_file: str, tmp_path_factory: pytest.TempPathFactory) -> tuple[Program, Path]:
    """A store with three issues: an airframe's points were rejected, then the weight changed."""
    folder = tmp_path_factory.mktemp("story")
    program = Program(copy_store(few_file, folder / "store.sqlite3"))
    for number, words in enumerate((("first",), ("C-03 is odd",), ("lighter", "560")), 1):
        more = ("--weight-kg", words[1]) if len(words) > 1 else ()
        if number == 1:  # C-03 stands outside
            more = ("--with", "C-03")
        if number == 2:
            ids = [
                point["point_id"]
                for point in program.json("points", "list")["points"]
                if point["airframe"] == "C-03"
            ]
            program.output("points", "reject", *ids, "--reason", "leak found")
        where = folder / f"issue {number}"
        program.output(
            "publish", TAIL, "--issue", "--reason", words[0], "--out", where, *DAY, *more
        )
    return program, folder


def own(story: tuple[Program, Path], folder: Path) -> Program:
    """Return the program on a copy of the store that a test may change."""
    return Program(copy_store(story[0].store, folder / "own.sqlite3"))


def test_an_old_issue_comes_again_byte_for_byte_after_newer_ones(
    story: tuple[Program, Path], tmp_path: Path
) -> None:
    program, folder = story
    for number in (2, 1, 3):
        found = program.json("issue", "again", TAIL, number, "--out", tmp_path / str(number))
        assert found["bytes_same"]
        assert found["digits_same"]
        assert "every digit is the same" in found["digits"]
        again = folder_content(tmp_path / str(number))
        assert again == folder_content(folder / f"issue {number}")
        assert len(again) == len(FORMATS)
    assert again != folder_content(folder / "issue 1")


def test_an_issue_says_its_number_date_reason_and_hash(story: tuple[Program, Path]) -> None:
    program, folder = story
    listed = program.json("show", "issues")["issues"]
    assert [(line["number"], line["why"]) for line in listed] == [
        (1, "first"),
        (2, "C-03 is odd"),
        (3, "lighter"),
    ]
    (page,) = (folder / "issue 2").glob("*.html")
    text = page.read_text(encoding="utf-8")
    for words in ("Issue 2 of 2024-05-06", "C-03 is odd", listed[1]["inputs_sha256"]):
        assert words in text
    with opened(program.store) as connection:
        (inputs,) = connection.execute(
            "SELECT inputs_json FROM published_issue WHERE number = 2"
        ).fetchone()
    assert hashlib.sha256(inputs.encode()).hexdigest() == listed[1]["inputs_sha256"]
    kept = json.loads(inputs)
    assert "C-03" not in {point[kept["columns"].index("airframe")] for point in kept["points"]}


def test_what_changed_between_two_issues_is_told_with_its_reason(
    story: tuple[Program, Path],
) -> None:
    program, _ = story
    first, second = (program.json("issue", "compare", TAIL, n, n + 1) for n in (1, 2))
    assert first["points"] == ["6 points of C-03 went: leak found"]
    assert first["reasons"] == ["issue 2 of 2024-05-06: C-03 is odd"]
    assert any("now left out: 6 points of C-03: leak found" in said for said in first["choices"])
    assert not first["same_inputs"]
    shifts = [row["change_kt"] for row in first["rows"] if row["change_kt"] is not None]
    assert max(abs(shift) for shift in shifts) > 0.5
    assert second["points"] == []
    assert "weight_kg: 600.0 then 560.0" in second["choices"]
    text = program.output("issue", "compare", TAIL, 1, 2)
    assert "Points: 6 points of C-03 went: leak found." in text
    assert "Why: issue 2 of 2024-05-06: C-03 is odd." in text
    back = program.json("issue", "compare", TAIL, 2, 1)
    assert back["points"] == ["6 points of C-03 came in"]


def test_the_same_issue_twice_has_the_same_inputs(
    story: tuple[Program, Path], tmp_path: Path
) -> None:
    program = own(story, tmp_path)
    words = ("publish", TAIL, "--issue", "--reason", "same", "--weight-kg", "560", *DAY)
    program.output(*words, "--out", tmp_path / "a")
    found = program.json("issue", "compare", TAIL, 3, 4)
    assert found["same_inputs"]
    assert {row["change_kt"] for row in found["rows"]} <= {0.0, None}


def test_a_withdrawn_issue_says_so_on_its_page_and_stays(
    story: tuple[Program, Path], tmp_path: Path
) -> None:
    program = own(story, tmp_path)
    pages = tmp_path / "pages"
    program.output("issue", "again", TAIL, 2, "--out", pages)
    words = ("issue", "withdraw", TAIL, 2, "--reason", "wrong port", "--date", "2024-07-01")
    told = program.output(*words, "--out", pages)
    assert {Path(line) for line in told.splitlines()} == set(pages.iterdir())
    (page,) = pages.glob("*.html")
    text = page.read_text(encoding="utf-8")
    assert "WITHDRAWN on 2024-07-01: wrong port. Do not use this table." in text
    found = program.json("issue", "again", TAIL, 2, "--out", tmp_path / "again")
    assert found["withdrawn"].startswith("WITHDRAWN on 2024-07-01")
    assert found["bytes_same"]
    assert folder_content(tmp_path / "again") == folder_content(pages)
    assert program.json("show", "issues")["issues"][1]["withdrawn"] == "wrong port"
    assert_explained(program.run(*words), 3, "issue 2", "withdrawn already: wrong port")


def test_changed_digits_and_a_changed_layout_are_told_and_the_old_figures_kept(
    story: tuple[Program, Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    program = own(story, tmp_path)
    again = issues.table_again

    def shifted(*words: object) -> object:
        from dataclasses import replace

        table = again(*words)  # type: ignore[arg-type]
        row = next(row for row in table.rows if row.cas_kt is not None)
        assert row.cas_kt is not None
        assert row.correction_kt is not None
        moved = replace(row, cas_kt=row.cas_kt + 0.3, correction_kt=row.correction_kt + 0.3)
        return replace(table, rows=tuple(moved if r is row else r for r in table.rows))

    monkeypatch.setattr(issues, "table_again", shifted)
    found = program.json("issue", "again", TAIL, 2, "--out", tmp_path / "a")
    assert not found["digits_same"]
    assert "gives other digits" in found["digits"]
    assert found["bytes_same"]
    monkeypatch.setattr(issues, "_differing", lambda *_: ("html: the layout has changed",))
    assert "Not the bytes" in program.output("issue", "again", TAIL, 2, "--out", tmp_path / "a")


def test_an_issue_of_an_older_version_is_compared_in_what_that_version_kept(
    story: tuple[Program, Path], tmp_path: Path
) -> None:
    program = own(story, tmp_path)
    with opened(program.store, careless=True) as connection:
        query = "SELECT table_json FROM published_issue WHERE number = 2"
        (text,) = connection.execute(query).fetchone()
    table = json.loads(text)
    for name in ("limits", "light_weight_kg", "without"):
        table.pop(name)
    table["rows"] = [[*row[:9], row[9] and "flown by nobody"] for row in table["rows"]]
    table["curve"] = [row[:10] for row in table["curve"]]
    table["points"] = [point[:4] for point in table["points"]]
    older = json.dumps(table, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    mark = hashlib.sha256(older.encode()).hexdigest()
    statement = "UPDATE published_issue SET table_json = ?, table_sha256 = ? WHERE number = 2"
    change(program.store, statement, (older, mark))
    found = program.json("issue", "again", TAIL, 2, "--out", tmp_path / "a")
    assert found["digits_same"]
    assert "every printed digit is the same" in found["digits"]
    table["rows"][4][1] += 0.3
    table["rows"][4][2] += 0.3
    change(program.store, statement, (json.dumps(table), "0" * 64))
    assert not program.json("issue", "again", TAIL, 2, "--out", tmp_path / "b")["digits_same"]


def test_inputs_that_were_tampered_with_are_found(
    story: tuple[Program, Path], tmp_path: Path
) -> None:
    program = own(story, tmp_path)
    change(program.store, "UPDATE published_issue SET inputs_json = inputs_json || ' '")
    found = program.json("issue", "again", TAIL, 2, "--out", tmp_path / "a")
    assert not found["digits_same"]
    assert "SHA-256 differs" in found["digits"]


def test_no_reason_no_issue_and_nothing_written(
    story: tuple[Program, Path], tmp_path: Path
) -> None:
    program = own(story, tmp_path)
    before = held(program.store)
    result = program.run("publish", TAIL, "--issue", "--reason", " ", "--out", tmp_path / "no")
    assert_explained(result, 3, "no reason was given")
    (tmp_path / "taken").write_text("kept")
    result = program.run(
        "publish", TAIL, "--issue", "--reason", "x", "--out", tmp_path / "taken" / "in"
    )
    assert_explained(result, 3, "cannot write")
    assert held(program.store) == before
    assert not (tmp_path / "no").exists()


@pytest.mark.parametrize(
    ("words", "named"),
    [
        (("compare", TAIL, 1, 9), "issue 9"),
        (("compare", WING, 1, 2), WING),
        (("withdraw", TAIL, 1, "--reason", " "), "reason"),
        (("withdraw", TAIL, 9, "--reason", "x"), "issue 9"),
        (("compare", TAIL, 1, 2, "--flap-setting", "20"), "flaps 20"),
    ],
)
def test_what_was_never_issued_is_said_with_what_was(
    story: tuple[Program, Path], words: tuple[object, ...], named: str
) -> None:
    result = story[0].run("issue", *words)
    assert result.exit_code in (3, 35)
    assert_explained(result, result.exit_code, named)


def test_the_command_line_knows_the_formats_and_units_that_exist() -> None:
    assert tuple(FORMATS) == publish_commands.FORMATS
    assert tuple(SPEED_UNITS) == tuple(publish_commands.KT_PER_UNIT)
    for unit, factor in publish_commands.KT_PER_UNIT.items():
        assert factor * TableForm(speed_unit=unit).per_kt == pytest.approx(1.0, rel=1e-15)


@pytest.mark.parametrize("hash_seed", ["7", pytest.param("8", marks=pytest.mark.long)])
def test_another_process_writes_the_same_bytes(
    story: tuple[Program, Path], hash_seed: str, tmp_path: Path
) -> None:
    program, _ = story
    words = ("publish", TAIL, *DAY, "--direction", "cas-to-ias", "--speed-unit", "mph")
    done = subprocess.run(
        [
            *(sys.executable, "-W", "error", "-m", "fleetcal", "--store", program.store),
            *(*words, "--out", str(tmp_path / "other")),
        ],
        cwd=Path(fleetcal.__file__).parents[1],
        env={**os.environ, "PYTHONHASHSEED": hash_seed},
        capture_output=True,
        check=True,
    )
    assert done.stderr.startswith(b"The table of ")
    assert len(done.stderr.splitlines()) == 1
    program.output(*words, "--out", tmp_path / "here")
    assert folder_content(tmp_path / "other") == folder_content(tmp_path / "here")


def test_rows_from_cas_solve_the_curve_that_is_printed(
    story: tuple[Program, Path], tmp_path: Path
) -> None:
    program, _ = story
    program.output("publish", TAIL, "--out", tmp_path, "--direction", "cas-to-ias", *DAY)
    (path,) = tmp_path.glob("*.json")
    rows = [row for row in json.loads(path.read_text())["rows"] if row["ias_kt"] is not None]
    assert len(rows) > 5
    fine = {
        row["ias_kt"]: row["cas_kt"] for row in program.json("curve", TAIL, "--step", "0.5")["rows"]
    }
    for row in rows:
        below = 0.5 * (row["ias_kt"] // 0.5)
        if below >= max(fine):  # what reaches a little beyond the fastest point
            continue
        low, high = (fine[v] for v in (below, below + 0.5))
        # The curve bends by less than 0.001 kt within half a knot.
        cas = low + (high - low) * (row["ias_kt"] - below) / 0.5
        assert cas == pytest.approx(row["cas_kt"], abs=0.002)
        assert row["ias_next_low_kt"] < row["ias_mean_low_kt"] < row["ias_kt"]
        assert row["ias_kt"] < row["ias_mean_high_kt"] < row["ias_next_high_kt"]
    assert re.search(r"__from_CAS\.json$", path.name)
