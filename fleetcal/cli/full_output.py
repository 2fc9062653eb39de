"""What is printed cannot be: the disk behind standard output is full, or nobody reads any more.

A command stores before it prints, so that what it stored is there all the same, and it says so.
"""

from __future__ import annotations

import errno
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from typing import Final

from fleetcal.cli.printer import echo

#: Exit code where something could not be written.
NOT_WRITTEN: Final = 3
_FULL: Final = frozenset({errno.ENOSPC, errno.EFBIG, errno.EDQUOT, errno.EIO, errno.EBADF})


@contextmanager
def explained_output() -> Iterator[None]:
    """Explain that what a block prints could not be written; end quietly if its reader has gone.

    Raises:
        SystemExit
    """
    try:
        yield
    except OSError as error:
        if error.filename is not None or error.errno not in (*_FULL, errno.EPIPE):
            raise
        _print_no_more()
        if error.errno == errno.EPIPE:
            raise SystemExit(0) from error
        with suppress(OSError):
            _explain(error)
        raise SystemExit(NOT_WRITTEN) from error


def _explain(error: OSError) -> None:
    from fleetcal.services.chosen_store import has_stored

    echo(f"Error: what is printed could not be written: {error.strerror}", err=True)
    if has_stored():
        hint = "the store was changed all the same; 'fleetcal show history' has the change"
    else:
        hint = "the store was not changed; make room, or print to another place"
    echo(f"Hint: {hint}", err=True)


def _print_no_more() -> None:
    """Send to nowhere what is left, or Python complains of it at its end."""
    with suppress(OSError, ValueError):
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, sys.stdout.fileno())
        os.close(nowhere)
