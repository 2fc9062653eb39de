"""Files between a page and the program: sent, and kept for a while."""

from __future__ import annotations

import re
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from io import BytesIO
from pathlib import Path, PurePosixPath
from typing import BinaryIO, Final

from flask import request, send_file
from werkzeug.wrappers import Response

from fleetcal.errors import DataError
from fleetcal.plain_text import one_line
from fleetcal.web.shown import the_desk

_NOT_IN_NAMES: Final = re.compile(r"[^\w.() -]")
_LONGEST: Final = 100
#: Bytes of a file that is read at once to be sent.
_IN_MEMORY: Final = 2**23
_TYPES: Final = {
    ".html": "text/html",
    ".csv": "text/csv",
    ".json": "application/json",
    ".md": "text/markdown",
    ".svg": "image/svg+xml",
    ".pdf": "application/pdf",
    ".txt": "text/plain",
    ".zip": "application/zip",
}


@contextmanager
def private_folder() -> Iterator[Path]:
    """Yield a folder that only this user can look into; it goes with what is in it."""
    folder = Path(tempfile.mkdtemp(dir=the_desk().folder))
    try:
        yield folder
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def safe_name(name: str, instead: str = "file") -> str:
    """Return a name that is a file in a folder and never a way out of it."""
    last = PurePosixPath(one_line(name).replace("\\", "/")).name
    kept = _NOT_IN_NAMES.sub("_", last).lstrip(". ")
    if len(kept) > _LONGEST:
        stem, dot, ending = kept.rpartition(".")
        kept = f"{stem[: _LONGEST - len(ending) - 1]}{dot}{ending}" if dot else kept[:_LONGEST]
    return kept or instead


def dropped(field: str, folder: Path) -> Path:
    """Keep a file that was dropped on a form, under a harmless name.

    Raises:
        DataError: If no file came.
    """
    sent = request.files.get(field)
    if sent is None or not sent.filename:
        raise DataError("no file was chosen", "choose a file, or drop one on the field")
    path = folder / safe_name(sent.filename)
    sent.save(path)
    return path


def attachment(path: Path) -> Response:
    """Send a file to be kept by the browser, whatever becomes of the file afterwards."""
    large = path.stat().st_size > _IN_MEMORY
    # an open file stays readable when its folder is removed
    content: BinaryIO = path.open("rb") if large else BytesIO(path.read_bytes())
    sent = send_file(
        content,
        mimetype=_TYPES.get(path.suffix.casefold(), "application/octet-stream"),
        as_attachment=True,
        download_name=safe_name(path.name),
    )
    sent.call_on_close(content.close)
    return sent


def attachment_of(text: str, name: str) -> Response:
    """Send text as a file to be kept by the browser."""
    return send_file(
        BytesIO(text.encode("utf-8")),
        mimetype=_TYPES.get(PurePosixPath(name).suffix, "application/octet-stream"),
        as_attachment=True,
        download_name=safe_name(name),
    )
