"""Keep logs in the store, give them out again, list and drop them.

The packed bytes are in pieces of 256 kB in a table of their own. Pieces bypass the history,
so that it never holds a track; a dropped log cannot be brought back by undoing. What
unpacks to more than it should is broken off.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, date, datetime

from sqlalchemy import delete, func, insert, select
from sqlalchemy.orm import Session

from fleetcal.errors import DataError, FleetcalError, UnknownNameError
from fleetcal.store.listed import LogRow
from fleetcal.store.log_packing import PackedLog, unpacked
from fleetcal.store.models import Airframe, KeptLog, LogPiece, Sortie, SourceFile

_REDUCED = ("log", "leg_sheet")
_SHORTEST_HASH = 6
_LARGEST_BYTES = 2_000_000_000


def keep_log(session: Session, packed: PackedLog, *, now: datetime | None = None) -> bool:
    """Keep a log whose content was read before.

    Args:
        session: Of a writing transaction.
        now: Aware; the clock's when left out.

    Returns:
        False if it is kept already.

    Raises:
        UnknownNameError: If no file with this content was read.
        DataError: If it was no log, or is too large.
    """
    source = session.scalar(select(SourceFile).where(SourceFile.sha256 == packed.sha256))
    if source is None:
        raise UnknownNameError(
            f"{packed.name}: nothing in the store comes from a file with this content",
            "reduce it with --keep-log; was it changed since?",
        )
    if source.kind not in _REDUCED:
        raise DataError(f"{packed.name}: no recorded flight", "other files are not kept")
    if packed.file_bytes > _LARGEST_BYTES:
        limit = f"{_LARGEST_BYTES / 1e9:g} GB"
        raise DataError(f"{packed.name}: larger than {limit}", "keep the file next to the store")
    if session.scalar(select(KeptLog.id).where(KeptLog.source_file_id == source.id)) is not None:
        return False
    moment = now or datetime.now(UTC)
    row = KeptLog(source_file_id=source.id, file_bytes=packed.file_bytes, kept_at=moment)
    session.add(row)
    session.flush()
    for number, piece in enumerate(packed.pieces(), 1):
        # Not as objects: the history tells of the log, and must not hold a track.
        values = {"kept_log_id": row.id, "number": number, "packed": piece}
        session.execute(insert(LogPiece), values)
    return True


def list_logs(session: Session) -> list[LogRow]:
    """Return the logs that are kept, in the order kept."""
    sizes = select(LogPiece.kept_log_id, func.sum(func.length(LogPiece.packed)))
    grouped = session.execute(sizes.group_by(LogPiece.kept_log_id))
    packed = {number: int(size) for number, size in grouped}
    flown = select(Sortie.source_file_id, Airframe.tag, Sortie.flown_on)
    flown = flown.join(Airframe, Airframe.id == Sortie.airframe_id)
    tags: dict[int, set[str]] = {}
    days: dict[int, date] = {}
    for source, tag, day in session.execute(flown):
        tags.setdefault(source, set()).add(tag)
        days[source] = min(day, days.get(source, day))
    query = select(KeptLog, SourceFile).join(SourceFile, SourceFile.id == KeptLog.source_file_id)
    return [
        LogRow(
            log_id=log.id,
            file=source.name,
            sha256=source.sha256,
            airframes=", ".join(sorted(tags.get(source.id, ()))),
            flown_on=days.get(source.id),
            file_bytes=log.file_bytes,
            packed_bytes=packed.get(log.id, 0),
            kept_at=log.kept_at,
        )
        for log, source in session.execute(query.order_by(KeptLog.id))
    ]


def find_log(session: Session, named: str) -> LogRow:
    """Return the kept log with a file name, or whose SHA-256 begins like this.

    Raises:
        UnknownNameError: If there is none.
        DataError: If there are several.
    """
    logs = list_logs(session)
    found = [log for log in logs if log.file == named]
    if not found and len(named) >= _SHORTEST_HASH:
        found = [log for log in logs if log.sha256.startswith(named.lower())]
    if not found:
        raise UnknownNameError(f"no log {named!r} is kept", "'fleetcal show logs' lists them")
    if len(found) > 1:
        hashes = ", ".join(log.sha256[:12] for log in found)
        raise DataError(f"{len(found)} kept logs are called {named!r}", f"name one by {hashes}")
    return found[0]


def log_content(session: Session, log: LogRow) -> Iterator[bytes]:
    """Yield the bytes of a kept log, part by part.

    Raises:
        StoreError: If what is kept is damaged; then what came before is not to be used.
    """
    yield from unpacked(log_pieces(session, log.log_id), log.sha256, log.file_bytes, log.file)


def log_pieces(session: Session, log_id: int) -> Iterator[bytes]:
    """Yield the packed pieces of a kept log, one at a time."""
    query = select(LogPiece.id).where(LogPiece.kept_log_id == log_id).order_by(LogPiece.number)
    for number in session.scalars(query).all():
        yield session.execute(select(LogPiece.packed).where(LogPiece.id == number)).scalar_one()


def drop_log(session: Session, log: LogRow) -> None:
    """Let a kept log go for good; what came of it stays.

    Args:
        session: Of a writing transaction.
    """
    session.execute(delete(LogPiece).where(LogPiece.kept_log_id == log.log_id))
    session.delete(session.get(KeptLog, log.log_id))
    session.flush()


def broken_logs(session: Session) -> Iterator[tuple[str, str]]:
    """Yield kept logs that do not unpack to their hash, as (where, what is wrong)."""
    for log in list_logs(session):
        try:
            for _ in log_content(session, log):
                pass
        except FleetcalError as error:
            yield f"log {log.file}", error.message
