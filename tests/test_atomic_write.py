from __future__ import annotations

import os
import stat
import subprocess
import sys
from pathlib import Path

import pytest

from fleetcal import atomic_write
from fleetcal.atomic_write import write_atomically
from fleetcal.errors import DataError


def test_text_arrives_as_it_is_and_folders_are_made(tmp_path: Path) -> None:
    path = tmp_path / "new" / "folder" / "page.html"
    write_atomically(path, "a\r\nb\n±\n")
    assert path.read_bytes() == "a\r\nb\n±\n".encode()
    assert os.listdir(path.parent) == ["page.html"]


def test_a_new_file_has_the_ordinary_permissions_and_an_old_one_keeps_its_own(
    tmp_path: Path,
) -> None:
    plain = tmp_path / "plain"
    plain.write_text("")
    made = tmp_path / "made"
    write_atomically(made, "x")
    assert made.stat().st_mode == plain.stat().st_mode
    made.chmod(0o640)
    write_atomically(made, "y")
    assert stat.S_IMODE(made.stat().st_mode) == 0o640


@pytest.mark.parametrize("step", ["_write_and_flush", "_keep_permissions"])
def test_a_failure_on_the_way_leaves_the_old_file_and_nothing_beside_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, step: str
) -> None:
    path = tmp_path / "page.html"
    path.write_text("old")
    real = getattr(atomic_write, step)

    def fail(*arguments: object) -> None:
        real(*arguments)
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(atomic_write, step, fail)
    with pytest.raises(DataError, match=r"cannot write .*page\.html: No space left"):
        write_atomically(path, "new")
    assert path.read_text() == "old"
    assert os.listdir(tmp_path) == ["page.html"]


def test_a_full_disk_in_truth_leaves_the_old_file_whole(tmp_path: Path) -> None:
    path = tmp_path / "page.html"
    path.write_text("old")
    code = (
        "import resource, signal, sys\n"
        "from pathlib import Path\n"
        "from fleetcal.atomic_write import write_atomically\n"
        "signal.signal(signal.SIGXFSZ, signal.SIG_IGN)\n"
        "resource.setrlimit(resource.RLIMIT_FSIZE, (1000, 1000))\n"
        "try:\n"
        "    write_atomically(Path(sys.argv[1]), 'x' * 5000)\n"
        "except Exception as problem:\n"
        "    sys.exit(type(problem).__name__)\n"
    )
    path_of_code = os.pathsep.join(filter(None, sys.path))
    ended = subprocess.run(
        [sys.executable, "-B", "-c", code, str(path)],
        env={**os.environ, "PYTHONPATH": path_of_code},
        capture_output=True,
        text=True,
        check=False,
    )
    assert ended.stderr.strip() == "DataError"
    assert path.read_text() == "old"
    assert os.listdir(tmp_path) == ["page.html"]


def test_a_folder_or_a_file_in_the_way_is_explained(tmp_path: Path) -> None:
    (tmp_path / "page.html").mkdir()
    with pytest.raises(DataError, match="not a file"):
        write_atomically(tmp_path / "page.html", "x")
    (tmp_path / "taken").write_text("kept")
    with pytest.raises(DataError, match="cannot write") as caught:
        write_atomically(tmp_path / "taken" / "page.html", "x")
    assert caught.value.hint
    assert (tmp_path / "taken").read_text() == "kept"


def test_text_that_is_not_unicode_is_refused(tmp_path: Path) -> None:
    with pytest.raises(DataError, match="Unicode"):
        write_atomically(tmp_path / "page.html", "\ud800")
    assert os.listdir(tmp_path) == []


def test_a_link_stays_a_link_and_its_target_is_replaced(tmp_path: Path) -> None:
    target = tmp_path / "target.html"
    target.write_text("old")
    link = tmp_path / "link.html"
    link.symlink_to(target)
    write_atomically(link, "new")
    assert link.is_symlink()
    assert target.read_text() == "new"


def test_whoever_reads_the_old_file_meanwhile_keeps_the_whole_old_file(tmp_path: Path) -> None:
    path = tmp_path / "page.html"
    path.write_text("old " * 100)
    with path.open() as reader:
        start = reader.read(8)
        write_atomically(path, "new")
        reader.seek(0)
        assert reader.read() == "old " * 100
    assert start == "old old "
    assert path.read_text() == "new"


def test_several_files_wait_beside_their_places_until_they_are_put_there(tmp_path: Path) -> None:
    old, new = tmp_path / "old.html", tmp_path / "new.html"
    old.write_text("old")
    with atomic_write.files_waiting({old: "newer", new: b"new"}) as move_into_place:
        assert old.read_text() == "old"
        assert not new.exists()
        move_into_place()
        assert (old.read_text(), new.read_text()) == ("newer", "new")
    assert sorted(os.listdir(tmp_path)) == ["new.html", "old.html"]


def test_files_that_were_never_put_in_place_leave_nothing(tmp_path: Path) -> None:
    with atomic_write.files_waiting({tmp_path / "a": "a", tmp_path / "b": "b"}):
        assert len(os.listdir(tmp_path)) == 2
    assert os.listdir(tmp_path) == []
    with (
        pytest.raises(DataError, match="cannot write"),
        atomic_write.files_waiting({tmp_path / "a": "a", tmp_path: "b"}),
    ):
        pytest.fail("a folder was taken for a file")
    assert os.listdir(tmp_path) == []


def test_what_a_killed_program_left_an_hour_ago_is_swept_away_and_nothing_else(
    tmp_path: Path,
) -> None:
    left = tmp_path / f".page.html.{'0a' * 8}.partial"
    at_work = tmp_path / f".page.html.{'0b' * 8}.partial"
    others = tmp_path / ".page.html.partial"
    for path in (left, at_work, others):
        path.write_text("")
    for path in (left, others):
        os.utime(path, (1.0, 1.0))
    write_atomically(tmp_path / "page.html", "x")
    assert {path.name for path in tmp_path.iterdir()} == {"page.html", at_work.name, others.name}
