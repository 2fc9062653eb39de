"""Logs are kept byte for byte, leave only when asked to, and are known when damaged."""

from __future__ import annotations

import hashlib
import lzma
import tracemalloc
from datetime import date
from pathlib import Path

import numpy as np
import pytest
from sqlalchemy import delete, func, select, update
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session

from fleetcal.errors import DataError, FleetcalError, StoreError, UnknownNameError
from fleetcal.services.keeping import kept_logs
from fleetcal.services.keeping.check_store import check_store
from fleetcal.services.sharing.share_store import ShareChoice
from fleetcal.store import (
    Store,
    add_source,
    find_log,
    keep_log,
    list_logs,
    log_content,
    open_store,
    packed_file,
    save_description,
)
from fleetcal.store.copies import back_up, bring_back
from fleetcal.store.history_rows import list_history
from fleetcal.store.models import KeptLog, LogPiece, SourceFile
from tests.store.invented_rows import FLEET, keep_a_log
from tests.store.invented_shares import (
    REGISTRATION,
    fill,
    fly_file,
    merge_into,
    packed_log,
    write_share,
)
from tests.store.test_merging_climbs import place_of
from tests.store.test_store_history import rows, undo

WITH_LOGS = ShareChoice(registrations=True, logs=True)


def noise(size: int) -> bytes:
    """Bytes that cannot be packed."""
    return np.random.default_rng(3).bytes(size)


def keep_word(session: Session, word: str) -> None:
    with packed_log(word) as packed:
        keep_log(session, packed)


@pytest.mark.parametrize(
    "content", [b"\0", b"a,b\r\n" * 100_000, noise(700_000)], ids=["one byte", "text", "noise"]
)
def test_what_is_kept_comes_out_byte_for_byte(store: Store, content: bytes) -> None:
    with store.writing() as session:
        sha256 = keep_a_log(session, content)
    with store.reading() as session:
        log = find_log(session, "kept.csv")
        assert b"".join(log_content(session, log)) == content
        assert (log.sha256, log.file_bytes) == (sha256, len(content))
        assert log.packed_bytes == session.scalar(select(func.sum(func.length(LogPiece.packed))))
        pieces = session.scalar(select(func.count()).select_from(LogPiece))
    assert pieces == -(-log.packed_bytes // (256 * 1024))


def test_only_what_was_read_is_kept_and_once(store: Store) -> None:
    with store.writing() as session:
        sha256 = keep_a_log(session)
        assert len(list_logs(session)) == 1
    with store.writing() as session, packed_log("unknown") as packed:
        with pytest.raises(UnknownNameError, match=r"unknown\.csv"):
            keep_log(session, packed)
        add_source(session, packed.sha256, "points.csv", "points")
        with pytest.raises(DataError, match="no recorded flight"):
            keep_log(session, packed)
    with store.writing() as session:
        assert find_log(session, sha256[:6]).sha256 == sha256
        for named in ("other.csv", sha256[:5]):
            with pytest.raises(UnknownNameError, match="no log"):
                find_log(session, named)


def put(session: Session, packed: bytes) -> None:
    session.execute(
        update(LogPiece).values(packed=packed), execution_options={"synchronize_session": False}
    )


def damage_hash(session: Session) -> None:
    put(session, lzma.compress(b"time,ias\n1,81\n"))


def flip_a_bit(session: Session) -> None:
    changed = bytearray(session.scalars(select(LogPiece.packed)).one())
    changed[len(changed) // 2] ^= 1
    put(session, bytes(changed))


def cut_the_end(session: Session) -> None:
    put(session, session.scalars(select(LogPiece.packed)).one()[:-5])


def add_behind(session: Session) -> None:
    piece = session.scalars(select(LogPiece)).one()
    session.add(LogPiece(kept_log_id=piece.kept_log_id, number=2, packed=piece.packed))


def lose_the_pieces(session: Session) -> None:
    session.execute(delete(LogPiece))


def swell(session: Session) -> None:
    """A little that unpacks to a lot."""
    put(session, lzma.compress(b"\0" * 50_000_000))


def tell_another_size(session: Session) -> None:
    session.scalars(select(KeptLog)).one().file_bytes += 1


DAMAGES = (damage_hash, flip_a_bit, cut_the_end, add_behind, lose_the_pieces, swell)


@pytest.mark.long
@pytest.mark.parametrize("damage", [*DAMAGES, tell_another_size])
def test_a_damaged_log_is_told_by_every_command_that_looks_at_it(
    store: Store, tmp_path: Path, damage: object
) -> None:
    with store.writing() as session:
        keep_a_log(session)
    assert check_store(store).faults == ()
    with store.writing() as session:
        damage(session)  # type: ignore[operator]
    (fault,) = check_store(store).faults
    assert fault.where == "log kept.csv"
    assert "damaged" in fault.what
    with pytest.raises(StoreError, match=r"kept\.csv that is kept is damaged") as caught:
        kept_logs.save(store, "kept.csv", tmp_path / "again.csv")
    assert "\n" not in caught.value.message
    assert list(tmp_path.glob("again*")) == []
    with pytest.raises(FleetcalError):
        write_share(store, tmp_path / "share.json", WITH_LOGS)
    assert not (tmp_path / "share.json").exists()
    kept_logs.drop(store, "kept.csv")
    assert check_store(store).faults == ()


def test_saving_overwrites_nothing(store: Store, tmp_path: Path) -> None:
    with store.writing() as session:
        keep_a_log(session)
    target = tmp_path / "again.csv"
    kept_logs.save(store, "kept.csv", target)
    assert target.read_bytes() == b"time,ias\n1,80\n"
    with pytest.raises(DataError, match="there already"):
        kept_logs.save(store, "kept.csv", target)
    with pytest.raises(DataError, match="nowhere"):
        kept_logs.save(store, "kept.csv", tmp_path / "nowhere" / "again.csv")


def test_keeping_is_taken_back_and_dropping_is_not(store: Store) -> None:
    with store.writing() as session:
        save_description(session, FLEET)
        fly_file(session, "one")
    before = rows(store)
    with store.writing() as session:
        keep_word(session, "one")
    with store.reading() as session:
        assert [line.table for line in list_history(session)][-1] == "kept_log"
        assert all("one" not in line.values for line in list_history(session))
    undo(store)
    assert rows(store) == before
    with store.writing() as session:
        keep_word(session, "one")
    with pytest.raises(DataError, match="touched kept_log"):
        undo(store, 1)
    kept_logs.drop(store, "one.csv")
    assert rows(store) == before
    with pytest.raises(DataError, match="dropped a log"):
        undo(store)
    assert rows(store) == before


def test_the_flight_and_its_log_go_together_when_they_came_together(store: Store) -> None:
    with store.writing() as session:
        save_description(session, FLEET)
    before = rows(store)
    with store.writing() as session:
        fly_file(session, "one")
        keep_word(session, "one")
    undo(store)
    assert rows(store) == before


def test_a_file_is_not_lost_from_under_its_kept_log(store: Store) -> None:
    with store.writing() as session:
        keep_a_log(session)
    with pytest.raises((DataError, IntegrityError)), store.writing() as session:
        session.execute(delete(SourceFile))
    with store.reading() as session:
        assert len(list_logs(session)) == 1


@pytest.mark.long
def test_logs_stay_at_home_unless_they_are_asked_for(store: Store, tmp_path: Path) -> None:
    fill(store)
    with store.writing() as session:
        keep_word(session, "one")
    share = write_share(store, tmp_path / "without.json")
    assert "packed" not in share.read_text()
    target = tmp_path / "target.sqlite3"
    merge_into(target, share)
    with open_store(target) as other, other.reading() as session:
        assert list_logs(session) == []
    share = write_share(store, tmp_path / "with.json", WITH_LOGS)
    done = merge_into(target, share)
    assert [(line.what, line.outcome) for line in done.lines] == [("log of file one.csv", "kept")]
    assert merge_into(target, share).lines == ()
    with open_store(target) as other:
        with other.reading() as session:
            assert b"".join(log_content(session, find_log(session, "one.csv"))) == b"one"
        assert undo(other) == 1
        with other.reading() as session:
            assert list_logs(session) == []


@pytest.mark.long
def test_a_log_that_names_a_registration_leaves_only_with_registrations(
    store: Store, tmp_path: Path
) -> None:
    fill(store)
    words = [f"pilot in {REGISTRATION}", "PK\x03\x04 packed by hand", "plain"]
    with store.writing() as session:
        for word in words:
            fly_file(
                session, word, "C-01", date(2018, 2, 1), name=f"{word[:5]}.csv", shift=len(word)
            )
            with packed_log_of(tmp_path, word) as packed:
                keep_log(session, packed)
    hidden = merge_of(write_share(store, tmp_path / "a.json", ShareChoice(logs=True)), tmp_path)
    assert hidden == ["plain"]
    shown = merge_of(write_share(store, tmp_path / "b.json", WITH_LOGS), tmp_path)
    assert shown == sorted(words)


def packed_log_of(folder: Path, word: str):
    path = folder / "word.csv"
    path.write_bytes(word.encode("latin-1"))
    return packed_file(path)


def merge_of(share: Path, folder: Path) -> list[str]:
    target = folder / f"{share.stem}.sqlite3"
    merge_into(target, share)
    with open_store(target) as store, store.reading() as session:
        return sorted(
            b"".join(log_content(session, log)).decode("latin-1") for log in list_logs(session)
        )


@pytest.mark.long
def test_a_backup_holds_the_logs_and_brings_them_back(store: Store, tmp_path: Path) -> None:
    content = noise(3_000_000)  # more pieces than are copied at once
    with store.writing() as session:
        keep_a_log(session, content)
    back_up(place_of(store), tmp_path / "backup.sqlite3")
    kept_logs.drop(store, "kept.csv")
    bring_back(place_of(store), tmp_path / "backup.sqlite3", replace=True)
    with store.reading() as session:
        found = b"".join(log_content(session, find_log(session, "kept.csv")))
    assert hashlib.sha256(found).digest() == hashlib.sha256(content).digest()


@pytest.mark.long
def test_a_large_log_goes_through_in_bounded_memory(tmp_path: Path, store_file: Path) -> None:
    path = tmp_path / "large.csv"
    with path.open("wb") as file:
        for _ in range(48):
            file.write(b"".join(b"%d,80.5,1013.25\n" % i for i in range(65_000)))
    assert path.stat().st_size > 40e6
    with open_store(store_file) as store:
        with packed_file(path) as packed, store.writing() as session:
            add_source(session, packed.sha256, path.name, "log")
            tracemalloc.start()
            keep_log(session, packed)
        kept_logs.save(store, "large.csv", tmp_path / "again.csv")
        peak = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
    assert peak < 12e6
    with (tmp_path / "again.csv").open("rb") as file:
        assert hashlib.file_digest(file, "sha256").hexdigest() == packed.sha256
