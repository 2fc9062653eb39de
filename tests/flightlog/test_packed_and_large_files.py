from __future__ import annotations

import gzip
import io
import zipfile

import numpy as np
import pytest

from fleetcal.errors import DataError, MalformedFileError, NotTextError
from fleetcal.flightlog import file_bytes, raw_table, read_recording, read_table
from fleetcal.flightlog.file_bytes import text_blocks
from tests.flightlog.log_writer import plain_log


def same_flight(path, other):
    one, two = read_recording(path), read_recording(other)
    np.testing.assert_array_equal(one.t_s, two.t_s)
    for name, values in one.channels.items():
        np.testing.assert_array_equal(values, two.channels[name])
    np.testing.assert_array_equal(one.line_numbers, two.line_numbers)
    return one


@pytest.mark.parametrize("size", [64, 100, 257, 1000])
@pytest.mark.parametrize("ends", ["\n", "\r\n", "\r"])
def test_a_file_read_in_small_pieces_is_the_same(tmp_path, monkeypatch, size, ends):
    text = plain_log(300)
    (tmp_path / "whole.csv").write_text(text)
    (tmp_path / "pieces.csv").write_bytes(text.replace("\n", ends).encode())
    whole = read_recording(tmp_path / "whole.csv")
    monkeypatch.setattr(file_bytes, "BLOCK_BYTES", size)
    monkeypatch.setattr(raw_table, "HEAD_LINES", 40)
    pieces = read_recording(tmp_path / "pieces.csv")
    for name, values in whole.channels.items():
        np.testing.assert_array_equal(values, pieces.channels[name])
    np.testing.assert_array_equal(whole.line_numbers, pieces.line_numbers)


@pytest.mark.parametrize("spoil", [("12.5", "12.x"), (",101.0,", ",,"), ("2024", '"2024"')])
def test_a_file_that_is_not_held_in_memory_is_the_same(tmp_path, monkeypatch, spoil):
    lines = plain_log(500).splitlines()
    lines[300] = lines[300].replace(*spoil)
    lines[400] += ",1,2"
    (tmp_path / "a.csv").write_text("\n".join(lines))
    (tmp_path / "b.csv").write_text("\n".join(lines))
    held = read_recording(tmp_path / "a.csv")
    monkeypatch.setattr(raw_table, "_HELD_BYTES", 0)
    monkeypatch.setattr(file_bytes, "BLOCK_BYTES", 700)
    again = read_recording(tmp_path / "b.csv")
    assert held.warnings == again.warnings
    for name, values in held.channels.items():
        np.testing.assert_array_equal(values, again.channels[name])


def test_a_long_row_that_makes_up_for_a_short_one_is_noticed(tmp_path):
    lines = plain_log(200).splitlines()
    lines[50] = "9," + lines[50]
    lines[60] = lines[60].rsplit(",", 1)[0]
    (tmp_path / "log.csv").write_text("\n".join(lines))
    recording = read_recording(tmp_path / "log.csv")
    assert recording.t_s.size == 198
    assert not {51, 61} & set(recording.line_numbers.tolist())


def test_zip_archives_of_one_file_in_a_folder_with_the_leavings_of_an_archiver(tmp_path):
    (tmp_path / "log.csv").write_text(plain_log(100))
    with zipfile.ZipFile(tmp_path / "log.zip", "w") as archive:
        archive.writestr("flights/", "")
        archive.writestr("flights/log.csv", plain_log(100))
        archive.writestr("__MACOSX/flights/._log.csv", b"\x00\x01")
        archive.writestr(".DS_Store", b"\x00")
    same_flight(tmp_path / "log.csv", tmp_path / "log.zip")


def test_what_is_hashed_is_the_file_as_it_lies_there(tmp_path):
    packed = gzip.compress(plain_log(100).encode(), mtime=0)
    (tmp_path / "log.gz").write_bytes(packed)
    import hashlib

    assert read_table(tmp_path / "log.gz").sha256 == hashlib.sha256(packed).hexdigest()


@pytest.mark.long
def test_a_zip_that_bursts_is_refused_before_it_is_unpacked_whole(tmp_path, monkeypatch):
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("log.csv", b"1,2\n" * (20 << 20))
    (tmp_path / "log.zip").write_bytes(buffer.getvalue())
    seen = []
    limited = file_bytes._limited

    def counting(file, packed_bytes, name):
        for piece in limited(file, packed_bytes, name):
            seen.append(len(piece))
            yield piece

    monkeypatch.setattr(file_bytes, "_limited", counting)
    with pytest.raises(NotTextError, match="times its size"):
        list(text_blocks(tmp_path / "log.zip"))
    assert sum(seen) <= (32 << 20) + 2 * file_bytes.BLOCK_BYTES


def test_a_file_beyond_the_absolute_size_is_refused(tmp_path, monkeypatch):
    (tmp_path / "log.csv").write_text(plain_log(500))
    monkeypatch.setattr(file_bytes, "LARGEST_BYTES", 5000)
    with pytest.raises(DataError, match=r"log\.csv holds more than"):
        read_table(tmp_path / "log.csv")


def test_a_line_without_end_is_refused(tmp_path):
    (tmp_path / "log.csv").write_bytes(b"1," * (7 << 20))
    with pytest.raises(MalformedFileError, match="line of more than"):
        read_table(tmp_path / "log.csv")


def test_a_file_that_changes_while_it_is_read_is_refused(tmp_path, monkeypatch):
    path = tmp_path / "log.csv"
    path.write_text(plain_log(100))
    monkeypatch.setattr(raw_table, "_HELD_BYTES", 0)
    table = read_table(path)
    path.write_text(plain_log(60))
    from fleetcal.flightlog import recording_from_table

    with pytest.raises(DataError, match="changed while it was read"):
        recording_from_table(table)
